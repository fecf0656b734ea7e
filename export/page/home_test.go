package page_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/export"
	"gearleaf/sheet"
)

// TestSavedChangesComeBack makes changes with the page's scripts, saves them as
// the page does, and reads them back: into the same text, and into one that has
// changed since.
func TestSavedChangesComeBack(t *testing.T) {
	node := need(t, "node")
	folder := t.TempDir()
	leaf := filepath.Join(folder, "mule.leaf")
	text := `track : "concrete" choice "concrete", "asphalt"
wet : no
boost : 21.5 psig range 0..60
actual : 1.2 s
table gears
  gear : 1, 2
  ratio : 2.5, 1.9
power = boost * (if wet then 1 else 2)
`
	if err := os.WriteFile(leaf, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	s, list := sheet.Load(leaf)
	if s == nil {
		t.Fatal(list)
	}
	page := exported(t, "mule", s)
	out, err := exec.Command(node, "testdata/home.mjs", "script", page,
		`track="asphalt"`, "wet=yes", "boost=1.6 barg", "gears.ratio[2]=1,85").Output()
	if err != nil {
		t.Fatal(err)
	}
	changes := filepath.Join(folder, "mule-changes.leaf")
	if err := os.WriteFile(changes, out, 0o600); err != nil {
		t.Fatal(err)
	}
	if s, list := sheet.Load(changes); s == nil {
		t.Errorf("what was saved is no worksheet: %v", list)
	}
	back, err := export.OpenChanges(changes)
	if err != nil {
		t.Fatalf("%v in\n%s", err, out)
	}
	m, err := back.Merge(s)
	if err != nil || m.TextChanged || m.Blocked() {
		t.Fatalf("%+v %v of\n%s", m, err, out)
	}
	got, err := s.Rewritten(m.Settings)
	if err != nil {
		t.Fatal(err)
	}
	want := strings.NewReplacer(`"concrete" choice`, `"asphalt" choice`, "wet : no", "wet : yes", "21.5 psig range 0..60", "1.6 barg range 0 psig..60 psig", "2.5, 1.9", "2.5, 1.85").Replace(text)
	if got != want {
		t.Errorf("the text becomes\n%s, want\n%s", got, want)
	}
	later, list := sheet.FromText("mule.leaf", strings.Replace(text, "21.5 psig", "20 psig", 1))
	if later == nil {
		t.Fatal(list)
	}
	if m, err := back.Merge(later); err != nil || !m.TextChanged || len(m.Conflicts) != 1 || len(m.Settings) != 3 {
		t.Errorf("%+v %v", m, err)
	}
}
