package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestUnhurriedAreLinked refuses a pattern that names no package of the program on
// any system.
func TestUnhurriedAreLinked(t *testing.T) {
	linked := map[string]bool{}
	for _, goos := range []string{"linux", "darwin", "windows"} {
		cmd := exec.Command("go", "list", "-deps", "-tags", "nethttpomithttp2", "gearleaf/cmd/gearleaf")
		cmd.Env = append(os.Environ(), "GOOS="+goos, "CGO_ENABLED=0")
		text, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		for name := range strings.FieldsSeq(string(text)) {
			linked[name] = true
		}
	}
	for _, pattern := range unhurried {
		folder, deep := strings.CutSuffix(pattern, "/...")
		found := linked[folder]
		for name := range linked {
			found = found || deep && strings.HasPrefix(name, folder+"/")
		}
		if !found {
			t.Errorf("%s names no package of the program", pattern)
		}
	}
}

// TestOtherFoldersAreSpared replaces an earlier release, and refuses a folder
// that holds anything else.
func TestOtherFoldersAreSpared(t *testing.T) {
	out := filepath.Join(t.TempDir(), "dist")
	refused := func(why string) {
		t.Helper()
		if err := replaceable(out); err == nil {
			t.Errorf("%s: accepted", why)
		}
	}
	accepted := func(why string) {
		t.Helper()
		if err := replaceable(out); err != nil {
			t.Errorf("%s: %v", why, err)
		}
	}
	accepted("missing")
	if err := os.Mkdir(out, 0o755); err != nil {
		t.Fatal(err)
	}
	accepted("empty")
	write(t, filepath.Join(out, "bike.leaf"), "x")
	refused("a worksheet")
	write(t, filepath.Join(out, sumsFile), "12ab  gearleaf.tar.gz\n")
	refused("a worksheet beside a release")
	if err := os.Remove(filepath.Join(out, "bike.leaf")); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(out, "gearleaf.tar.gz"), "x")
	write(t, filepath.Join(out, sizeFile), "x")
	accepted("a release")
}

// TestReplace gives a new release the name of an earlier one, of which nothing
// is left; the earlier one keeps its name where that fails.
func TestReplace(t *testing.T) {
	folder := t.TempDir()
	out, made := filepath.Join(folder, "dist"), filepath.Join(folder, ".release-1")
	for _, dir := range []string{out, made} {
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	write(t, filepath.Join(out, "old"), "x")
	if err := replace(out, filepath.Join(folder, "missing")); err == nil {
		t.Error("a missing folder was accepted")
	}
	if _, err := os.Stat(filepath.Join(out, "old")); err != nil {
		t.Errorf("the earlier release is lost: %v", err)
	}
	write(t, filepath.Join(made, "new"), "x")
	if err := replace(out, made); err != nil {
		t.Fatal(err)
	}
	if left, err := filepath.Glob(filepath.Join(folder, "*", "*")); err != nil || len(left) != 1 || left[0] != filepath.Join(out, "new") {
		t.Errorf("left: %v, %v", left, err)
	}
}

// TestMissingFilesAreAnError makes no archive without a folder or its files.
func TestMissingFilesAreAnError(t *testing.T) {
	folder := t.TempDir()
	write(t, filepath.Join(folder, "bike.leaf"), "x")
	if found, err := folderFiles(folder, "sheets", "*.leaf"); err != nil || len(found) != 1 {
		t.Errorf("%d files, %v", len(found), err)
	}
	if _, err := folderFiles(folder, "sheets", "*.csv"); err == nil {
		t.Error("a folder without such a file was accepted")
	}
	if _, err := folderFiles(filepath.Join(folder, "editors"), "editors", "*"); err == nil {
		t.Error("a folder that is not there was accepted")
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}
