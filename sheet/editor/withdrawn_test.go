package editor

import (
	"path/filepath"
	"strings"
	"testing"
)

// TestDisagreementIsShown: if the evaluators differ, every value is withdrawn,
// and the document reports it.
func TestDisagreementIsShown(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.leaf")
	w := NewWorkspace()
	w.Set(path, "a : 2\nb = a * 3\nlimit b < 9\n")
	d := w.Document(path)
	s := d.Sheet()
	set, problem := s.ParseSetting("a=5")
	if problem != nil {
		t.Fatal(problem.Message)
	}
	s.Set(set)
	d.result = s.Evaluate()
	s.Settings[0].Value = 6 // what the second evaluator receives
	if text := d.Notes()[0].Text; text != "=? 15" {
		t.Errorf("before: %q", text)
	}
	if state := d.Confirm(t.Context()); state != Withdrawn || d.Disagreement() == nil {
		t.Fatalf("state %d, %v", state, d.Disagreement())
	}
	for _, n := range d.Notes() {
		if n.Text != "withdrawn" || !strings.Contains(n.Tooltip, "two evaluators differ") {
			t.Errorf("a line shows %q, %q", n.Text, n.Tooltip)
		}
	}
	if h := d.Hover(6); h == nil || strings.Contains(h.Text, "15") || strings.Contains(h.Text, "= 5 * 3") {
		t.Errorf("explained as %v", h)
	}
}
