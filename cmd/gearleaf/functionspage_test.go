package main

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"

	"gearleaf/sheet"
)

var update = flag.Bool("update", false, "write the page of functions anew")

// TestFunctionsPage keeps the page in the library's folder what the command
// prints.
func TestFunctionsPage(t *testing.T) {
	const path = "../../formulas/FUNCTIONS.md"
	var page bytes.Buffer
	if err := functionsMarkdown(&page, sheet.Functions(), true); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(path, page.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	stored, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(stored) != page.String() {
		t.Error("formulas/FUNCTIONS.md is not what gearleaf functions --markdown prints; write it anew with: go test ./cmd/gearleaf -run FunctionsPage -update")
	}
	for _, f := range sheet.Functions() {
		_, entry, found := strings.Cut(page.String(), "\n### "+f.Name+"\n\n"+f.Meaning+"\n") // min and max have two
		entry, _, _ = strings.Cut(entry, "\n### ")
		says := append([]string{f.Usage, "\nExample:"}, f.Steps...)
		says = append(says, f.Sources...)
		if f.Why == "" {
			says = append(says, "\nSource: ")
		}
		for _, what := range says {
			if !found || !strings.Contains(entry, what) {
				t.Errorf("the page does not tell %q of %s", what, f.Name)
			}
		}
	}
}
