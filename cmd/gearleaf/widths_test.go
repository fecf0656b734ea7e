package main

import (
	"bytes"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/templates"
)

// everyWidth asks for every command on every template at every width, as CI
// does. Otherwise three reports of a long worksheet are tried at one width.
const everyWidth = "GEARLEAF_WIDTHS"

// longSheet is the number of values above which a worksheet is long.
const longSheet = 400

// TestNothingIsWiderThanThePage runs the commands on the templates, and demands
// that no line of their reports and messages is wider than the page.
func TestNothingIsWiderThanThePage(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, one := range templates.List() {
		writeTemplate(t, one)
	}
	for _, one := range templates.List() {
		t.Run(one.Name, func(t *testing.T) {
			commands, long := commandsOn(t, one.Name+".leaf")
			widths := []int{40, 60, 80, 120}
			if long && os.Getenv(everyWidth) == "" {
				commands, widths = commands[:3], []int{60}
			}
			for _, args := range commands {
				for _, columns := range widths {
					narrow(t, columns, args)
				}
			}
		})
	}
}

// TestMessagesAreNotWiderThanThePage tries helps, lists and refusals.
func TestMessagesAreNotWiderThanThePage(t *testing.T) {
	t.Chdir(t.TempDir())
	one, _ := templates.Find("sprocket-change")
	writeTemplate(t, one)
	long := strings.Repeat("a long text ", 12)
	if err := os.WriteFile("bad.leaf", []byte("title \""+long+"\"\na : 21 psi\nb = a + c + "+strings.Repeat("a + ", 40)+"1 rpm \""+long+"\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	commands := [][]string{
		{},
		{"help"},
		{"functions"},
		{"functions", "--full"},
		{"functions", "afr"},
		{"functions", "fuels"},
		{"units"},
		{"units", "inHg"},
		{"units", "psi"},
		{"new"},
		{"new", "no-such-template"},
		{"calc"},
		{"calc", "no-such-file.leaf"},
		{"calc", "bad.leaf"},
		{"check", "bad.leaf"},
		{"no-such-command"},
		{"calc", "bad.leaf", "--no-such-flag"},
		{"passes"},
		{"passes", "list", "no.csv"},
		{"sweep", "sprocket-change.leaf"},
		{"sweep", "sprocket-change.leaf", "a", "b"},
		{"best", "sprocket-change.leaf"},
		{"serve", "sprocket-change.leaf", "--addr", "nowhere:1:2"},
		{"readback", "sprocket-change.leaf"},
		{"export", "sprocket-change.leaf"},
		{"export", "sprocket-change.leaf", "-o", "x.y"},
		{"version"},
		{"change", "sprocket-change.leaf", "no_such_given=1"},
		{"trace", "sprocket-change.leaf", "no_such_cell"},
	}
	for _, c := range newRoot().Commands() {
		commands = append(commands, []string{c.Name(), "--help"})
	}
	for _, args := range commands {
		for _, columns := range []int{40, 60, 80, 120} {
			narrow(t, columns, args)
		}
	}
}

func writeTemplate(t *testing.T, one templates.Template) {
	t.Helper()
	for _, f := range append([]templates.File{{Name: one.Name + ".leaf", Text: one.Text}}, one.Beside...) {
		if err := os.WriteFile(f.Name, []byte(f.Text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// narrow runs one command on a page of so many columns. A word alone on its
// line may be wider: an address.
func narrow(t *testing.T, columns int, args []string) {
	t.Helper()
	t.Setenv("COLUMNS", strconv.Itoa(columns))
	var out, errs bytes.Buffer
	run(args, strings.NewReader(""), &out, &errs)
	if out.Len()+errs.Len() == 0 {
		t.Errorf("%d columns, %q: it prints nothing", columns, args)
	}
	wide := 0
	for line := range strings.Lines(out.String() + errs.String()) {
		line = strings.TrimRight(line, "\n")
		if width(line) <= columns || !strings.Contains(strings.TrimSpace(line), " ") {
			continue
		}
		if wide++; wide == 1 {
			t.Errorf("%d columns, %q: a line of %d: %q", columns, args, width(line), line)
		}
	}
	if wide > 1 {
		t.Errorf("%d columns, %q: %d lines are too wide", columns, args, wide)
	}
}

// commandsOn are the command lines that are tried on a worksheet, the most
// important ones first.
func commandsOn(t *testing.T, path string) (commands [][]string, long bool) {
	t.Helper()
	s, list := sheet.Load(path)
	if s == nil {
		t.Fatal(list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	given, result := mostReaching(r)
	other := strings.TrimSuffix(path, ".leaf") + "-other.leaf"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(other, text, 0o644); err != nil {
		t.Fatal(err)
	}
	run([]string{"change", other, more(r, given, 1.01), "--write"}, strings.NewReader(""), io.Discard, io.Discard)
	_, low, _ := strings.Cut(more(r, given, 0.999), "=")
	_, high, _ := strings.Cut(more(r, given, 1.001), "=")
	return [][]string{
		{"calc", path},
		{"change", path, more(r, given, 1.01)},
		{"compare", path, other},
		{"calc", path, "--full"},
		{"calc", path, "--own"},
		{"calc", path, "--charts"},
		{"calc", path, "--cell", result.Name(), "--cell", given.Name()},
		{"trace", path, result.Name(), "--depth", "8"},
		{"check", path},
		{"sweep", path, more(r, given, 1.01), "--show", result.Name()},
		{"solve", path, more(r, result, 1.0001), "--by", given.Name(), "--within", low + ".." + high},
		{"spread", path, "--show", result.Name(), "--draws", "100"},
		{"worth", path, given.Name() + "=1%", "--show", result.Name()},
	}, r.Checked.Of > longSheet
}

// more writes name=quantity for the value at p times a factor.
func more(r *sheet.Result, p sheet.Place, factor float64) string {
	return p.Name() + "=" + p.Quantity().Unit.Format(r.At(p).V*factor, 0)
}

// mostReaching returns the given that reaches most of a sheet, of a few, and the
// last number that it reaches.
func mostReaching(r *sheet.Result) (given, result sheet.Place) {
	var candidates []sheet.Place
	for _, p := range r.Sheet.Names() {
		if q := p.Quantity(); p.Cell != nil && q.Given && q.Type.Form == check.Number && r.At(p).V > 0 {
			candidates = append(candidates, p)
		}
	}
	const tried = 4
	most := -1
	for i := range min(tried, len(candidates)) {
		at := candidates[i*len(candidates)/min(tried, len(candidates))]
		setting, d := r.Sheet.ParseSetting(more(r, at, 1.01))
		if d != nil {
			continue // a choice, or whole
		}
		changed, err := r.Sheet.Change([]sheet.Setting{setting})
		if err != nil {
			continue
		}
		reached, _, _ := changed.Count()
		for item := range r.Sheet.Model.Outline() {
			c := item.Cell
			if reached > most && c != nil && !c.Given && c.Type.Form == check.Number && changed.Difference(sheet.Place{Cell: c}).Moved {
				given, result = at, sheet.Place{Cell: c}
			}
		}
		if given == at {
			most = reached
		}
	}
	return given, result
}
