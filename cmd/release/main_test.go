package main

import (
	"os"
	"path/filepath"
	"testing"
)

// TestOtherFoldersAreSpared makes an earlier release anew and refuses to empty
// a folder of anything else.
func TestOtherFoldersAreSpared(t *testing.T) {
	mine := filepath.Join(t.TempDir(), "sheets")
	if err := os.Mkdir(mine, 0o755); err != nil {
		t.Fatal(err)
	}
	kept := filepath.Join(mine, "bike.leaf")
	write(t, kept)
	if err := emptied(mine); err == nil {
		t.Error("a folder with a worksheet was accepted")
	}
	if _, err := os.Stat(kept); err != nil {
		t.Errorf("the worksheet is gone: %v", err)
	}
	write(t, filepath.Join(mine, sumsFile))
	if err := emptied(mine); err != nil {
		t.Error(err)
	}
	if entries, err := os.ReadDir(mine); err != nil || len(entries) != 0 {
		t.Errorf("%d files are left, %v", len(entries), err)
	}
	if err := emptied(filepath.Join(mine, "new")); err != nil {
		t.Error(err)
	}
}

// TestMissingFilesAreAnError makes no archive without a folder or its files.
func TestMissingFilesAreAnError(t *testing.T) {
	folder := t.TempDir()
	write(t, filepath.Join(folder, "bike.leaf"))
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

func write(t *testing.T, path string) {
	t.Helper()
	if err := os.WriteFile(path, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
}
