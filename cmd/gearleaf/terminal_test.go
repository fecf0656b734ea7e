package main

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

func TestWantsColor(t *testing.T) {
	for _, c := range []struct {
		noColor, term string
		want          bool
	}{
		{"", "xterm-256color", true},
		{"1", "xterm-256color", false},
		{"", "dumb", false},
		{"", "", true},
	} {
		if got := wantsColor(c.noColor, c.term); got != c.want {
			t.Errorf("wantsColor(%q, %q) = %v", c.noColor, c.term, got)
		}
	}
}

func TestPaintLeavesWidthAlone(t *testing.T) {
	p := page{w: &bytes.Buffer{}, width: pipedWidth, color: true}
	painted := p.alarm("BROKEN")
	if !strings.Contains(painted, own("[")) || width(painted) != len("BROKEN") {
		t.Errorf("%q is %d columns wide", painted, width(painted))
	}
	p.color = false
	if got := p.alarm("BROKEN"); got != "BROKEN" {
		t.Errorf("a page without colour paints %q", got)
	}
}

func TestCut(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int
		want string
	}{
		{"countershaft", 12, "countershaft"},
		{"countershaft", 8, "counter…"},
		{"front sprocket", 7, "front…"},
		{"kg·m⁻³ of air", 7, "kg·m⁻³…"},
		{"温度計", 5, "温度…"},
	} {
		if got := cut(c.text, c.n); got != c.want {
			t.Errorf("cut(%q, %d) = %q, want %q", c.text, c.n, got, c.want)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int
		want []string
	}{
		{"", 10, []string{""}},
		{"rear tyre, one turn", 10, []string{"rear tyre,", "one turn"}},
		{"countershaft sprocket", 8, []string{"counter…", "sprocket"}},
		{"a  b\nc", 10, []string{"a b c"}},
	} {
		if got := wrap(c.text, c.n); !reflect.DeepEqual(got, c.want) {
			t.Errorf("wrap(%q, %d) = %q, want %q", c.text, c.n, got, c.want)
		}
	}
}

func TestFolded(t *testing.T) {
	for _, c := range []struct {
		line string
		n    int
		want []string
	}{
		{"short", 10, []string{"short"}},
		{"one two three four", 9, []string{"one two", "  three", "  four"}},
		{"  a  b   cc", 8, []string{"  a  b", "    cc"}},
		{"at http://127.0.0.1:1234/token now", 12, []string{"at", "  http://127.0.0.1:1234/token", "  now"}},
		{own("[1m") + "bold words" + own("[0m"), 10, []string{own("[1m") + "bold words" + own("[0m")}},
	} {
		if got := folded(c.line, c.n); !reflect.DeepEqual(got, c.want) {
			t.Errorf("folded(%q, %d) = %q, want %q", c.line, c.n, got, c.want)
		}
	}
}

// TestScreenFoldsLines writes a wide line in pieces, and one whose beginning a
// user has already seen.
func TestScreenFoldsLines(t *testing.T) {
	var out bytes.Buffer
	s := &screen{w: &out, width: 12}
	for _, part := range []string{"one two ", "three four\n", "press a key: "} {
		if _, err := s.Write([]byte(part)); err != nil {
			t.Fatal(err)
		}
	}
	flush(s)
	if got, want := out.String(), "one two\n  three four\npress a key: "; got != want {
		t.Fatalf("%q, want %q", got, want)
	}
	if _, err := s.Write([]byte("k\n")); err != nil || !strings.HasSuffix(out.String(), ": k\n") {
		t.Errorf("%q, %v", out.String(), err)
	}
}

func TestSplitPoint(t *testing.T) {
	for _, c := range []struct{ number, whole, fraction string }{
		{"41", "41", ""},
		{"2.41", "2", ".41"},
		{"-0.5", "-0", ".5"},
		{"1.5e-07", "1", ".5e-07"},
		{"2e+16", "2", "e+16"},
	} {
		if whole, fraction := splitPoint(c.number); whole != c.whole || fraction != c.fraction {
			t.Errorf("splitPoint(%q) = %q, %q", c.number, whole, fraction)
		}
	}
}

func TestDidYouMean(t *testing.T) {
	names := []string{"road_speed", "engine_speed_at", "air_density"}
	for word, want := range map[string]string{
		"raod_speed":   `: did you mean "road_speed"?`,
		"Road_Speed":   `: did you mean "road_speed"?`,
		"air":          `: did you mean "air_density"?`,
		"thermometers": "",
		"":             "",
	} {
		if got := didYouMean(word, names); got != want {
			t.Errorf("didYouMean(%q) = %q, want %q", word, got, want)
		}
	}
}

func TestTableRows(t *testing.T) {
	if got := tableRows(3, false); !reflect.DeepEqual(got, []int{0, 1, 2}) {
		t.Errorf("a short table shows %v", got)
	}
	if got := tableRows(100, false); !reflect.DeepEqual(got, []int{0, 1, 2, 3, 4, -1, 95, 96, 97, 98, 99}) {
		t.Errorf("a long table shows %v", got)
	}
	if got := tableRows(100, true); len(got) != 100 {
		t.Errorf("all of a long table is %d rows", len(got))
	}
}

// TestGridFitsThePage lays out more columns than a page holds.
func TestGridFitsThePage(t *testing.T) {
	var out bytes.Buffer
	p := page{w: &out, width: 40}
	var columns []*gridColumn
	for _, head := range []string{"gear", "overall_ratio", "speed_at_shift", "drop_to", "thrust"} {
		columns = append(columns, &gridColumn{head: head, fields: []string{"1.25", "12.5", "125"}})
	}
	p.grid(columns, indent)
	for line := range strings.Lines(out.String()) {
		if width(strings.TrimRight(line, "\n")) > p.width {
			t.Errorf("wider than the page: %q", line)
		}
	}
	for _, head := range []string{"overall_ratio", "speed_at_shift", "drop_to", "thrust"} {
		if strings.Count(out.String(), head) != 1 {
			t.Errorf("%s stands %d times on the page", head, strings.Count(out.String(), head))
		}
	}
	if strings.Count(out.String(), "gear") < 2 {
		t.Error("the first column does not come again")
	}
}

// TestOfferShowsLinesBeforeAndAfter requests a key until one is valid.
func TestOfferShowsLinesBeforeAndAfter(t *testing.T) {
	file := source.New("bike.leaf", "title \"T\"\r\nboost : 21 psi\r\n")
	d := diag.Diagnostic{
		File: file, Span: source.Span{Start: 22, End: 25}, Message: "psi leaves open which",
		Repairs: []diag.Repair{
			{Title: "gauge", Edits: []diag.Edit{{Span: source.Span{Start: 22, End: 25}, New: "psig"}}},
			{Title: "absolute", Edits: []diag.Edit{{Span: source.Span{Start: 22, End: 25}, New: "psia"}}},
		},
	}
	var out bytes.Buffer
	p := page{w: &out, width: pipedWidth}
	repair, quit := offer(p, d, nil, newKeys(strings.NewReader("9z\n2")))
	if quit || repair == nil || repair.Title != "absolute" {
		t.Fatalf("the key 2 chose %v, quit %v", repair, quit)
	}
	for _, want := range []string{"bike.leaf:2:12: psi leaves open which", "     - boost : 21 psi\n", "     + boost : 21 psia\n"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is not shown in\n%s", want, out.String())
		}
	}
	if got := diag.Apply(file.Text, repair.Edits); got != "title \"T\"\r\nboost : 21 psia\r\n" {
		t.Errorf("applied: %q", got)
	}
	// What overlaps a chosen repair is not offered any more.
	if repair, quit := offer(p, d, repair.Edits, newKeys(strings.NewReader(""))); repair != nil || quit {
		t.Errorf("an overlapping repair was offered: %v", repair)
	}
}
