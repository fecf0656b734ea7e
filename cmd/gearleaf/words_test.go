package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
)

// private are words of our own for what the field has a term for, and turns of
// phrase that technical English does not have.
var private = regexp.MustCompile(`(?i)\b(dash(es|code)?|weaves?|woven|strands?|knots?|kin|kindred|wary|pairloops?|` +
	`leans? (up)?on|what stands|all that stands|in hand|at hand|where not|tells? whether|looked over|under way)\b`)

// plainSpoken are the folders in which the words are refused, with those below.
var plainSpoken = []string{"sheet/graph", "sheet/kernel", "sheet/program", "sheet/referee", "sheet/whatif", "sheet/source", "sheet/diag", "sheet/disk", "sheet/pass", "sheet/passbook", "formulas", ".ci"}

// TestStandardWords refuses private words in code, comments and pages.
func TestStandardWords(t *testing.T) {
	looked := 0
	for _, folder := range plainSpoken {
		err := filepath.WalkDir(filepath.Join(root, folder), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !slices.Contains([]string{".go", ".md", ".leaf", ""}, filepath.Ext(path)) {
				return err
			}
			looked++
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, at := range private.FindAllIndex(data, -1) {
				t.Errorf("%s:%d: %q", path, 1+bytes.Count(data[:at[0]], []byte("\n")), data[at[0]:at[1]])
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if looked < 100 {
		t.Errorf("only %d files were read", looked)
	}
}
