package templates_test

import (
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
	"gearleaf/templates"
)

func TestListIsInOrder(t *testing.T) {
	list := templates.List()
	if len(list) == 0 {
		t.Fatal("there are no templates")
	}
	for i, tpl := range list {
		if i > 0 && tpl.Name <= list[i-1].Name {
			t.Errorf("%s after %s", tpl.Name, list[i-1].Name)
		}
		if found, ok := templates.Find(tpl.Name); !ok || found.Text != tpl.Text {
			t.Errorf("%s is not found by its name", tpl.Name)
		}
	}
	if _, ok := templates.Find("no-such-sheet"); ok {
		t.Error("a template that is not there was found")
	}
}

func compute(t *testing.T, tpl templates.Template) *sheet.Result {
	t.Helper()
	folder := t.TempDir()
	for _, f := range append(tpl.Beside, templates.File{Name: tpl.Name + ".leaf", Text: tpl.Text}) {
		if err := os.WriteFile(filepath.Join(folder, f.Name), []byte(f.Text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, list := sheet.Load(filepath.Join(folder, tpl.Name+".leaf"))
	for _, d := range list {
		t.Errorf("%s: %s", tpl.Name, d.Message)
	}
	if s == nil {
		t.FailNow()
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// expected are the advices that templates open with.
var expected = map[string]bool{
	// Even teeth on an even chain: the book opens with a pair that wears so.
	"set-up-book: gcd(rear_sprocket, chain_links) = 1":    true,
	"between-rounds: gcd(rear_sprocket, chain_links) = 1": true,
}

// TestEveryTemplateStands checks what every template owes a stranger: it is
// clean, prints as itself, computes without trouble, warns and says that its
// machine is invented.
func TestEveryTemplateStands(t *testing.T) {
	for _, tpl := range templates.List() {
		t.Run(tpl.Name, func(t *testing.T) {
			r := compute(t, tpl)
			if r.Sheet.Model.Title != tpl.Title || tpl.Title == "" {
				t.Errorf("listed as %q, titled %q", tpl.Title, r.Sheet.Model.Title)
			}
			if len(r.Sheet.Model.Cautions) == 0 {
				t.Error("has no caution")
			}
			if !strings.Contains(tpl.Text, "invented") {
				t.Error("does not say that its figures are invented")
			}
			if r.Trouble() {
				t.Errorf("computes with trouble: %v", r.Failures())
			}
			for _, l := range r.Sheet.Model.Limits {
				if state, _ := r.Limit(l); state != sheet.Kept && !expected[tpl.Name+": "+l.Text] {
					t.Errorf("%s: %s", l.Message, state)
				}
			}
			for _, a := range r.Advices() {
				t.Errorf("%s: %s", a.Cell, a.Text)
			}
			if !r.Checked.Whole() {
				t.Errorf("%d of %d values were confirmed", r.Checked.Tasks, r.Checked.Of)
			}
			tree, _ := syntax.Parse(source.New(tpl.Name, tpl.Text))
			if printed := syntax.Print(tree); printed != tpl.Text {
				t.Errorf("does not print as itself:\n%s", printed)
			}
			for i, line := range strings.Split(tpl.Text, "\n") {
				if strings.ContainsRune(line, '\t') {
					t.Errorf("line %d holds a tab", i+1)
				}
			}
		})
	}
}

// TestSprocketChange compares the sheet with values worked by hand.
func TestSprocketChange(t *testing.T) {
	tpl, ok := templates.Find("sprocket-change")
	if !ok {
		t.Fatal("there is no sprocket-change")
	}
	r := compute(t, tpl)
	text, err := os.ReadFile("../testdata/sprocket-change.expected.tsv")
	if err != nil {
		t.Fatal(err)
	}
	checked := map[string]bool{}
	for line := range strings.Lines(string(text)) {
		fields := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		if strings.HasPrefix(line, "#") || fields[0] == "name" {
			continue
		}
		expected, err1 := strconv.ParseFloat(fields[1], 64)
		tolerance, err2 := strconv.ParseFloat(fields[3], 64)
		u, problem := unit.NewSystem().Parse(fields[2])
		if err1 != nil || err2 != nil || problem != nil {
			t.Fatalf("unreadable: %s", line)
		}
		got := u.Shown(value(t, r, fields[0]))
		if !(math.Abs(got-expected) <= tolerance*math.Max(1, math.Abs(expected))) {
			t.Errorf("%s is %.10g %s, by hand %s (%s)", fields[0], got, fields[2], fields[1], fields[4])
		}
		name, _, _ := strings.Cut(fields[0], "[")
		checked[name] = true
	}
	for _, c := range r.Sheet.Model.Cells {
		if !c.Given && !checked[c.Name] && c.Name != "ruling_limit" {
			t.Errorf("%s was not worked by hand", c.Name)
		}
	}
}

// value returns the value of `name` or `table.column[row]`.
func value(t *testing.T, r *sheet.Result, name string) float64 {
	t.Helper()
	name, rest, indexed := strings.Cut(name, "[")
	cell, column := r.Sheet.Model.Resolve(name)
	switch {
	case cell != nil && !indexed:
		return r.Cell(cell).V
	case column != nil && indexed:
		row, err := strconv.Atoi(strings.TrimSuffix(rest, "]"))
		if err != nil {
			t.Fatal(err)
		}
		return r.Entry(column, row-1).V
	}
	t.Fatalf("there is no %s", name)
	return 0
}

// TestFiveNumbers gives the sheet a stranger's five numbers: it has results,
// and reports what does not fit the machine.
func TestFiveNumbers(t *testing.T) {
	r := template(t, "sprocket-change", "front_sprocket=16teeth", "rear_sprocket=40teeth", "tyre_rollout=1920mm", "shift_speed=11500rpm", "finish_speed=138mph")
	if got := value(t, r, "finish_engine_speed"); !(got > 100 && got <= value(t, r, "shift_speed")) {
		t.Errorf("the engine turns at %g a second at the finish", got)
	}
	if got := value(t, r, "chain_links"); math.Mod(got, 2) != 0 || got < 90 || got > 120 {
		t.Errorf("the chain has %g links", got)
	}
	if r.Trouble() {
		t.Errorf("trouble: %v", r.Failures())
	}
}

// TestSaysWhatBreaks drives the sheet out of each of its limits.
func TestSaysWhatBreaks(t *testing.T) {
	for _, c := range []struct{ setting, says string }{
		{"finish_speed=178mph", "Faster than the tyre is rated for"},
		{"finish_speed=195mph", "More engine speed at the finish than the engine is built for"},
		{"slot_length=15mm", "The axle is outside its slot: this pair needs another chain"},
		{"slot_length=28mm", "Little slot left for the chain to wear into"},
		{"chain_slack=15mm", "A tight chain breaks bearings and itself: see the maker's figure"},
		{"chain_slack=50mm", "A slack chain climbs off: see the maker's figure"},
		{"chain_strength=3000lbf", "Less than twice the pull of the start (common practice, no source): ask the chain's maker"},
		{"rear_sprocket=42teeth", "The same teeth meet the same links over and over"},
		{"peak_torque=60lbf.ft", "Power, its speed and the largest torque do not agree: check all three"},
		{"shift_speed=11000rpm", "Shifts are best 200 to 700 rpm past the power peak (common practice, no source)"},
		{"gears.ratio[5]=1.15", "Geared tall: the engine is below its best at the finish"},
	} {
		if !says(template(t, "sprocket-change", c.setting), c.says) {
			t.Errorf("%s: nothing says %q", c.setting, c.says)
		}
	}
}
