package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"gearleaf/sheet/outside"
	"gearleaf/sheet/passbook"
	"gearleaf/templates"
)

// rounds is how often a campaign is run: few times in every test run, and
// GEARLEAF_ROUNDS times where that is set.
func rounds(t *testing.T, few int) int {
	t.Helper()
	text := os.Getenv("GEARLEAF_ROUNDS")
	if text == "" {
		return few
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("GEARLEAF_ROUNDS: %v", err)
	}
	return n
}

func writeFile(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func readFile(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestTwoWriters lets two processes change one worksheet at the same time, and
// a third lay it out: whoever ends with status 0 has its change in the text.
func TestTwoWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bike.leaf")
	writeFile(t, path, "a : 1\nb : 1\nsum = a + b\n")
	for round := range rounds(t, 25) {
		value := strconv.Itoa(round + 2)
		var running []*exec.Cmd
		for _, args := range [][]string{{"change", path, "a=" + value, "--write"}, {"change", path, "b=" + value, "--write"}, {"fmt", "--write", path}} {
			cmd := exec.Command("gearleaf", args...)
			cmd.Stderr = new(bytes.Buffer)
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			running = append(running, cmd)
		}
		for _, cmd := range running {
			if err := cmd.Wait(); err != nil {
				t.Fatalf("round %d: %v: %v: %s", round, cmd.Args, err, cmd.Stderr)
			}
		}
		lines := strings.Join(strings.Fields(readFile(t, path)), " ")
		if want := "a : " + value + " b : " + value + " sum = a + b"; lines != want {
			t.Fatalf("round %d: the text is\n%s", round, lines)
		}
	}
}

// killed is a command that writes, and what may be found when it was killed.
type killed struct {
	name  string
	args  []string
	check func(t *testing.T, folder string)
}

// TestKills kills commands that write at random moments: the file they write
// holds the old or the new, and the next write cleans up.
func TestKills(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("what a kill leaves is looked at where files can be removed while they are open")
	}
	sprockets, ok := templates.Find("sprocket-change")
	if !ok {
		t.Fatal("the template is gone")
	}
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	sheet, rough, linked, book, workbook := at("bike.leaf"), at("rough.leaf"), at("linked.leaf"), at("book.csv"), at("bike.xlsx")
	writeFile(t, sheet, sprockets.Text)
	quiet(t, "export", sheet, "-o", workbook)
	changed := strings.Replace(sprockets.Text, "43 teeth", "44 teeth", 1)
	roughText := strings.ReplaceAll(sprockets.Text, " = ", "   =  ")
	writeFile(t, rough, roughText)
	quiet(t, "fmt", rough, "--write")
	laidOut := readFile(t, rough)
	commands := []killed{
		{"change", []string{"change", sheet, "rear_sprocket=44", "--write"}, oneOf(sheet, sprockets.Text, changed)},
		{"change of a file with two links", []string{"change", linked, "rear_sprocket=44", "--write"}, oneOf(linked, sprockets.Text, changed)},
		{"fmt", []string{"fmt", rough, "--write"}, oneOf(rough, roughText, laidOut)},
		{"readback", []string{"readback", workbook, sheet, "--write"}, oneOf(sheet, sprockets.Text)},
		{"readback --folder", []string{"readback", workbook, "--text", "--folder", at("texts")}, wholeFolder("texts", sprockets.Text)},
		{"export", []string{"export", sheet, "-o", at("out.json")}, wholeFile("out.json", "}\n")},
		{"export of a workbook", []string{"export", sheet, "-o", at("out.xlsx")}, readsBack("out.xlsx")},
		{"passes", []string{"passes", "add", book, sheet, "note=" + strings.Repeat("long ", 2000)}, countsOn(book)},
	}
	began := 0
	for round := range rounds(t, 160) {
		c := commands[round%len(commands)]
		writeFile(t, sheet, sprockets.Text)
		writeFile(t, rough, roughText)
		os.RemoveAll(linked)
		os.RemoveAll(linked + ".gearleaf-backup")
		writeFile(t, linked, sprockets.Text)
		os.Remove(at("too.leaf"))
		if err := os.Link(linked, at("too.leaf")); err != nil {
			outside.Missing(t, "no links here")
		}
		cmd := exec.Command("gearleaf", c.args...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rand.IntN(60_000)) * time.Microsecond)
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if temps, _ := filepath.Glob(at(".gearleaf-*.tmp")); len(temps) > 0 {
			began++
		}
		c.check(t, folder)
		if t.Failed() {
			t.Fatalf("round %d: %s", round, c.name)
		}
	}
	quiet(t, "export", sheet, "-o", at("last.json"))
	if temps, _ := filepath.Glob(at(".gearleaf-*.tmp")); len(temps) > 0 {
		t.Errorf("left behind: %v", temps)
	}
	t.Logf("%d kills found a temporary that was not whole yet", began)
}

// quiet runs a command that has to do its work.
func quiet(t *testing.T, args ...string) {
	t.Helper()
	var out bytes.Buffer
	if status := run(args, strings.NewReader(""), &out, &out); status == 2 {
		t.Fatalf("%q: %s", args, out.String())
	}
}

// oneOf requires one of texts in a file; if a write in place was interrupted,
// it must be reported and can be undone.
func oneOf(path string, texts ...string) func(*testing.T, string) {
	return func(t *testing.T, _ string) {
		t.Helper()
		now := readFile(t, path)
		for _, text := range texts {
			if now == text {
				return
			}
		}
		var out, errs bytes.Buffer
		run([]string{"check", path}, strings.NewReader(""), &out, &errs)
		if !strings.Contains(errs.String(), "load-cut-off") {
			t.Errorf("neither old nor new, and nothing is said: %s", errs.String())
		}
		run([]string{"check", "--repair", path}, strings.NewReader("1"), &out, &errs)
		if readFile(t, path) != texts[0] {
			t.Errorf("the repair does not bring the old text back: %s", out.String())
		}
	}
}

func wholeFile(name, end string) func(*testing.T, string) {
	return func(t *testing.T, folder string) {
		t.Helper()
		text, err := os.ReadFile(filepath.Join(folder, name))
		if err == nil && !strings.HasSuffix(string(text), end) {
			t.Errorf("%s is cut off", name)
		}
		os.Remove(filepath.Join(folder, name))
	}
}

func wholeFolder(name, text string) func(*testing.T, string) {
	return func(t *testing.T, folder string) {
		t.Helper()
		path := filepath.Join(folder, name)
		if _, err := os.Stat(path); err != nil {
			return
		}
		if got := readFile(t, filepath.Join(path, "bike.leaf")); got != text {
			t.Errorf("%s holds %d bytes", name, len(got))
		}
		os.RemoveAll(path)
	}
}

func readsBack(name string) func(*testing.T, string) {
	return func(t *testing.T, folder string) {
		t.Helper()
		path := filepath.Join(folder, name)
		if _, err := os.Stat(path); err == nil {
			quiet(t, "readback", path, "--text")
		}
		os.Remove(path)
	}
}

// countsOn demands that a book takes the next pass and misses none.
func countsOn(path string) func(*testing.T, string) {
	last := 0
	return func(t *testing.T, _ string) {
		t.Helper()
		added, err := passbook.Add(path, []string{"at", "sheet", "sheet sha256", "note"}, map[string]string{"note": "after a kill"})
		if err != nil {
			t.Error(err)
			return
		}
		if added.Pass <= last || added.Pass > last+2 {
			t.Errorf("pass %d follows pass %d", added.Pass, last)
		}
		last = added.Pass
		b, err := passbook.Read(path)
		if err != nil {
			t.Error(err)
			return
		}
		for _, l := range b.Lines {
			if l.Missing != "" {
				t.Error(l.Missing)
			}
		}
	}
}

// TestOutputIsSpared: no report is written over what a command reads, over a
// worksheet, a book of passes, a folder or a device.
func TestOutputIsSpared(t *testing.T) {
	t.Chdir(t.TempDir())
	writeFile(t, "used.leaf", "a : 1\n")
	writeFile(t, "table.csv", "x\n1\n2\n")
	writeFile(t, "bike.leaf", "use \"used.leaf\"\ntable t from \"table.csv\"\n  x : from \"x\"\nb : 1\nc = a + b + sum(t.x)\n")
	writeFile(t, "other.leaf", "z : 1\n")
	writeFile(t, "run.csv", "time,speed\n0,1\n1,2\n")
	if err := os.Mkdir("folder.csv", 0o755); err != nil {
		t.Fatal(err)
	}
	quiet(t, "passes", "add", "book.csv", "used.leaf")
	spared := map[string]string{}
	for _, name := range []string{"used.leaf", "table.csv", "bike.leaf", "other.leaf", "book.csv", "run.csv"} {
		spared[name] = readFile(t, name)
	}
	outputs := []string{"used.leaf", "table.csv", "./table.csv", "bike.leaf", "other.leaf", "book.csv", "folder.csv"}
	if runtime.GOOS != "windows" {
		outputs = append(outputs, "/dev/null", "/dev/full")
	}
	for _, output := range outputs {
		for _, args := range [][]string{
			{"export", "bike.leaf", "--format", "csv", "-o", output},
			{"change", "bike.leaf", "b=2", "-o", output},
			{"sweep", "bike.leaf", "b=1..3", "--show", "c", "-o", output},
			{"solve", "bike.leaf", "c=9", "--by", "b", "-o", output},
			{"compare", "bike.leaf", "used.leaf", "-o", output},
		} {
			var out, errs bytes.Buffer
			if status := run(args, strings.NewReader(""), &out, &errs); status != 2 || errs.Len() == 0 {
				t.Errorf("%q: status %d, %s", args, status, errs.String())
			}
		}
	}
	for name, text := range spared {
		if readFile(t, name) != text {
			t.Errorf("%s was written over", name)
		}
	}
}

// TestTracedFaults lets system calls of the real binary fail, where a tracer
// is installed: the worksheet is old or new, and status 0 means new.
func TestTracedFaults(t *testing.T) {
	tracer, err := exec.LookPath("strace")
	if err != nil {
		outside.Missing(t, "strace is not installed")
	}
	program, err := exec.LookPath("gearleaf")
	if err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(tracer, "-o", os.DevNull, "true").CombinedOutput(); err != nil {
		outside.Missing(t, "nothing can be traced here: "+string(out))
	}
	folder := t.TempDir()
	path, out := filepath.Join(folder, "bike.leaf"), filepath.Join(folder, "out.csv")
	oldText, newText := "a : 1\nb = a\n", "a : 2\nb = a\n"
	injected := 0
	for _, call := range []string{"fsync", "renameat", "fchmod", "ftruncate", "write", "close", "flock"} {
		for _, errno := range []string{"ENOSPC", "EIO", "EACCES", "EINTR"} {
			for when := 1; when <= 2; when++ {
				writeFile(t, path, oldText)
				os.Remove(out)
				trace := filepath.Join(folder, "trace")
				cmd := exec.Command(tracer, "-f", "-q", "-o", trace, "-e", "trace="+call, "-P", path, "-P", folder,
					"-e", fmt.Sprintf("inject=%s:error=%s:when=%d", call, errno, when),
					program, "change", path, "a=2", "--write", "-o", out)
				said, err := cmd.CombinedOutput()
				if strings.Contains(readFile(t, trace), "INJECTED") {
					injected++
				}
				now := readFile(t, path)
				if now != oldText && now != newText {
					t.Errorf("%s %s %d: the worksheet holds %q", call, errno, when, now)
				}
				if cmd.ProcessState.ExitCode() == 0 && now != newText {
					t.Errorf("%s %s %d: status 0 and the old text: %s", call, errno, when, said)
				}
				if code := cmd.ProcessState.ExitCode(); code != 0 && code != 2 {
					t.Errorf("%s %s %d: %v: %s", call, errno, when, err, said)
				}
				os.Remove(trace)
			}
		}
	}
	if injected < 4 {
		t.Errorf("only %d calls failed", injected)
	}
}
