package formulas_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet"
)

// TestTrade computes the rules of the trade that have no source: each is a
// worksheet whose limits are the rule.
func TestTrade(t *testing.T) {
	paths, err := filepath.Glob("../testdata/trade/*.leaf")
	if err != nil || len(paths) == 0 {
		t.Fatal("no worksheets of the trade", err)
	}
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".leaf"), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(string(text), "ommon practice, no source") {
				t.Error("does not say that it is common practice without a source")
			}
			r := computed(t, load(t, path, string(text)))
			if len(r.Sheet.Model.Limits) == 0 {
				t.Error("states nothing")
			}
			for _, l := range r.Sheet.Model.Limits {
				if state, _ := r.Limit(l); state != sheet.Kept {
					t.Errorf("%s: %s", l.Message, state)
				}
			}
			for _, a := range r.Advices() {
				t.Errorf("%s: %s", a.Cell, a.Text)
			}
		})
	}
}
