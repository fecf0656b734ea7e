package syntax_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// sheets returns the worksheets in testdata that read without errors.
func sheets(tb testing.TB) map[string]string {
	tb.Helper()
	names, err := filepath.Glob("testdata/sheet/*.leaf")
	if err != nil || len(names) == 0 {
		tb.Fatalf("no worksheets in testdata/sheet: %v", err)
	}
	texts := map[string]string{}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			tb.Fatal(err)
		}
		texts[strings.TrimSuffix(filepath.Base(name), ".leaf")] = string(text)
	}
	return texts
}

func TestSheetsReadWithoutErrors(t *testing.T) {
	for name, text := range sheets(t) {
		tree, list := syntax.Parse(source.New(name, text))
		for _, d := range list {
			at := tree.File.Position(d.Span.Start)
			t.Errorf("%s:%d:%d: %s: %s", name, at.Line, at.Column, d.Code, d.Message)
		}
	}
}
