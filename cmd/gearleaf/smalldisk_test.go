package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/export"
	"gearleaf/sheet/outside"
	"gearleaf/templates"
)

// TestSmallDisk fills the disk that a command writes to: the file is as it was
// or whole, and the command says that it is not written.
//
// Who may not mount a disk may, on most systems, as root of a name space of
// their own: the test runs itself there. TestSmallFiles runs everywhere.
func TestSmallDisk(t *testing.T) {
	folder := t.TempDir()
	out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", folder).CombinedOutput()
	switch {
	case err == nil:
		defer func() { _ = exec.Command("umount", "-l", folder).Run() }()
		fillDisk(t, folder)
	case os.Getenv("GEARLEAF_NAME_SPACE") == "":
		inside := exec.Command("unshare", "--map-root-user", "--mount", os.Args[0], "-test.run", "^TestSmallDisk$", "-test.v")
		inside.Env = append(os.Environ(), "GEARLEAF_NAME_SPACE=1")
		if again, err := inside.CombinedOutput(); err != nil || !strings.Contains(string(again), "--- PASS: TestSmallDisk") {
			if strings.Contains(string(again), "--- FAIL") {
				t.Fatalf("%s", again)
			}
			outside.Missing(t, fmt.Sprintf("no disk can be mounted here: %s%s", out, again))
		}
	default:
		t.Skipf("no disk can be mounted in a name space: %s", out)
	}
}

// fillDisk writes to the small disk at folder until it is full.
func fillDisk(t *testing.T, folder string) {
	t.Helper()
	sprockets, _ := templates.Find("sprocket-change")
	sheet, linked, book := filepath.Join(folder, "bike.leaf"), filepath.Join(folder, "linked.leaf"), filepath.Join(folder, "book.csv")
	writeFile(t, sheet, sprockets.Text)
	writeFile(t, linked, sprockets.Text)
	if err := os.Link(linked, filepath.Join(folder, "too.leaf")); err != nil {
		t.Fatal(err)
	}
	quiet(t, "passes", "add", book, sheet)
	writeFile(t, filepath.Join(folder, "small.json"), "{}\n")
	full := 0
	for n := 0; ; n++ {
		before := readFile(t, book)
		for _, args := range [][]string{
			{"change", sheet, "rear_sprocket=44", "--write"},
			{"change", sheet, "rear_sprocket=43", "--write"},
			{"change", linked, "rear_sprocket=44", "--write"},
			{"change", linked, "rear_sprocket=43", "--write"},
			{"passes", "add", book, sheet, "note=" + strings.Repeat("x", 3000)},
			{"export", sheet, "-o", filepath.Join(folder, "out.xlsx")},
			{"export", sheet, "-o", filepath.Join(folder, "small.json")},
		} {
			var out, errs bytes.Buffer
			if status := run(args, strings.NewReader(""), &out, &errs); status == 2 {
				full++
				if !strings.Contains(errs.String(), "no space") {
					t.Fatalf("%q: %s", args, errs.String())
				}
			}
		}
		for _, path := range []string{sheet, linked} {
			if text := readFile(t, path); len(text) != len(sprockets.Text) || strings.ReplaceAll(text, "44 teeth", "43 teeth") != strings.ReplaceAll(sprockets.Text, "44 teeth", "43 teeth") {
				t.Fatalf("%s holds %d bytes", path, len(text))
			}
		}
		if text := readFile(t, filepath.Join(folder, "small.json")); text != "{}\n" && !strings.HasSuffix(text, "}\n") {
			t.Fatal("small.json is cut off")
		}
		if now := readFile(t, book); now == before {
			break
		}
		if n > 100 {
			t.Fatal("the disk does not get full")
		}
	}
	if temps, _ := filepath.Glob(filepath.Join(folder, ".gearleaf-*")); len(temps) > 0 || full == 0 {
		t.Errorf("%d were refused; left behind: %v", full, temps)
	}
}

// TestSmallFiles runs the commands that write where no file may become larger
// than a few KiB: a write stops in the middle, and every file is as it was.
func TestSmallFiles(t *testing.T) {
	shell, err := exec.LookPath("sh")
	if err != nil {
		outside.Missing(t, "no shell can limit files here")
	}
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	sheet, linked, book, workbook, done := at("bike.leaf"), at("linked.leaf"), at("book.csv"), at("bike.xlsx"), at("done.json")
	text := strings.Repeat("# What was tried that day.\n", 1500) + "rear_sprocket : 41 teeth choice 38..44\nfront_sprocket : 17 teeth\nratio   = rear_sprocket / front_sprocket\ntable t rows 2000\n  x = row * ratio\n"
	text = strings.Replace(text, "choice 38..44", "choice 38, 41, 44", 1)
	writeFile(t, sheet, text)
	writeFile(t, linked, text)
	quiet(t, "export", sheet, "--set", "rear_sprocket=38", "-o", workbook)
	if err := os.Link(linked, at("too.leaf")); err != nil {
		outside.Missing(t, "no links here")
	}
	quiet(t, "passes", "add", book, sheet, "note="+strings.Repeat("long ", 6000))
	writeFile(t, done, "{}\n")
	charted := at("charted.leaf")
	sprockets, _ := templates.Find("sprocket-change")
	writeFile(t, charted, sprockets.Text)
	files := map[string]string{}
	for _, path := range []string{sheet, linked, book, workbook, done} {
		files[path] = readFile(t, path)
	}
	commands := [][]string{
		{"change", sheet, "rear_sprocket=38", "--write"},
		{"change", linked, "rear_sprocket=38", "--write"},
		{"fmt", sheet, "--write"},
		{"fmt", linked, "--write"},
		{"readback", workbook, sheet, "--write"},
		{"readback", workbook, "--text", "--folder", at("texts")},
		{"passes", "add", book, sheet, "note=" + strings.Repeat("more ", 6000)},
		{"export", sheet, "-o", done},
		{"export", sheet, "-o", workbook},
		{"export", sheet, "--site", at("site")},
		{"sweep", sheet, "front_sprocket=1..3000 teeth", "--show", "ratio", "-o", at("new.csv")},
		{"sweep", sheet, "front_sprocket=1..3000 teeth", "--show", "ratio", "-o", at("new.xlsx")},
		{"sweep", sheet, "front_sprocket=1..3000 teeth", "--show", "ratio", "-o", at("new.json")},
		{"sweep", sheet, "front_sprocket=1..3000 teeth", "--show", "ratio", "-o", at("new.parquet")},
	}
	for _, f := range export.Formats() {
		commands = append(commands, []string{"export", charted, "-o", at("new" + f.Extension), "--format", f.Name})
	}
	for _, args := range commands {
		// 2 KiB, or 4 where a shell counts in whole ones.
		cmd := exec.Command(shell, append([]string{"-c", `ulimit -f 4 && exec gearleaf "$@"`, "sh"}, args...)...)
		said, _ := cmd.CombinedOutput()
		if status := cmd.ProcessState.ExitCode(); status != 2 || !strings.Contains(string(said), "too large") {
			t.Errorf("%q: status %d: %s", args, status, said)
		}
		for path, was := range files {
			if now := readFile(t, path); now != was {
				t.Fatalf("%q: %s held %d bytes and holds %d", args, path, len(was), len(now))
			}
		}
	}
	for _, name := range []string{".gearleaf-*", "new.*", "texts", "site", "*.gearleaf-backup"} {
		if left, _ := filepath.Glob(at(name)); len(left) > 0 {
			t.Errorf("left behind: %v", left)
		}
	}
}
