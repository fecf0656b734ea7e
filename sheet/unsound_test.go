package sheet_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// broken are sheets with an error each: what is still computed, and what waits
// for the error in which line.
var broken = map[string]struct {
	text  string
	sound map[string]string // by name: the value as shown
	waits map[string]int    // by name: the line of the error
}{
	"formula": {
		"a : 2\nb = a * 3\nc = a + * 4\nd = c + b\ne = b + 1\nlimit e < 9\nlimit d < 9\n",
		map[string]string{"a": "2", "b": "6", "e": "7"},
		map[string]int{"c": 3, "d": 3},
	},
	"unit": {
		"speed : 10 m/s\nwrong = speed + 3 kg\ntwice = 2 * speed\nfar = wrong * 2\n",
		map[string]string{"speed": "10 m/s", "twice": "20 m/s"},
		map[string]int{"wrong": 2, "far": 2},
	},
	"given": {
		"a : 5 mn\nb : 7\nc = a * 2\nd = b * 2\n",
		map[string]string{"b": "7", "d": "14"},
		map[string]int{"a": 1, "c": 1},
	},
	"no sign": {
		"a 5\nb : 7\nc = a * 2\nd = b * 2\n",
		map[string]string{"b": "7", "d": "14"},
		map[string]int{"c": 3},
	},
	"twice": {
		"a : 5\na : 6\nb : 7\nc = a * 2\nd = b * 2\n",
		map[string]string{"b": "7", "d": "14"},
		map[string]int{"a": 2, "c": 2},
	},
	"cycle": {
		"a = b + 1\nb = a + 1\nc : 3\nd = c + 1\ne = a + d\n",
		map[string]string{"c": "3", "d": "4"},
		map[string]int{"a": 1, "b": 1, "e": 1},
	},
	"as": {
		"a : 5 m\nb = a as kg\nc = a * 2\nd = b * 2\n",
		map[string]string{"a": "5 m", "c": "10 m"},
		map[string]int{"b": 2, "d": 2},
	},
	"clause": {
		"a : 5\nb = a * 2 range 1..4\nc = a * 2\nd = b * 2\n",
		map[string]string{"a": "5", "c": "10"},
		map[string]int{"b": 2, "d": 2},
	},
	"function": {
		"function f(x: m) as m\n  = x + 3 s\nfunction g(x: m) as m\n  = 2 * x\na = f(1 m)\nb = g(1 m)\nc = a * 2\n",
		map[string]string{"b": "2 m"},
		map[string]int{"a": 2, "c": 2},
	},
	"example of a function": {
		"function f(w: kg) as kg\n  example f(3 m)\n  = w\nfunction g(w: kg) as kg\n  = f(w)\ntable t\n  a : 1, 2 kg\n  b = g(a)\n  c = a * 2\ntable u rows 3  until f(n * 1 kg) > 2 kg\n  n = row\nlimit g(1 kg) < 3 kg\nx = sum(t.c)\ny = f(2 kg)\n",
		map[string]string{"x": "6 kg"},
		map[string]int{"t.b": 2, "u.n": 2, "y": 2},
	},
	"function with an unknown unit": {
		"function f(w: c) as kg\n  = w\ntable u rows 3  until f(n * 1 kg) > 2 kg\n  n = row\nlimit f(1 kg) < 3 kg\nx = 3\ny = last(u.n)\n",
		map[string]string{"x": "3"},
		map[string]int{"u.n": 1, "y": 1},
	},
	"column": {
		"table t\n  a : 1, 2, 3\n  b = a * 2\n  c = a + 3 m\n  d = c + 1\nx = sum(t.b)\ny = sum(t.d)\n",
		map[string]string{"x": "12", "t.b[3]": "6"},
		map[string]int{"y": 4, "t.c": 4, "t.d": 4},
	},
	"loop": {
		"table t rows 5 until b > 3 m\n  a = prev(a) + 1 start 0\n  b = row\n  c = row * 2\nx = sum(t.c)\ny = 4 + 1\n",
		map[string]string{"y": "5"},
		map[string]int{"x": 1, "t.a": 1, "t.c": 1},
	},
	"grid": {
		"table t\n  | a | b |\n  | 1 | x y |\n  | 2 |\nx = sum(t.a)\ny : 3\n",
		map[string]string{"y": "3"},
		map[string]int{"x": 4, "t.a": 4},
	},
	"unit line": {
		"unit plug = 1 bananas\ny : 3\nz = y + 1\n",
		nil,
		map[string]int{"y": 1, "z": 1},
	},
	"column of a missing file": {
		"table book from \"none.csv\"\n  a : from \"a\"\n  b : frm \"b\" mph\nx = count(book.a)\ny : 3\nz = y + 1\n",
		map[string]string{"y": "3", "z": "4"},
		map[string]int{"book.b": 3},
	},
	"title": {
		"title 5\ny : 3\nz = y + 1\n",
		map[string]string{"y": "3", "z": "4"},
		nil,
	},
	"call": {
		"a = min()\nb = lookup(1, 2)\nc = sqrt(1, 2, 3)\nd = clamp(1)\ne = 1 + 1\nf = a + e\ng = round(nothing, 2)\nh = max(nothing)\n",
		map[string]string{"e": "2"},
		map[string]int{"a": 1, "b": 2, "c": 3, "d": 4, "f": 1, "g": 7, "h": 8},
	},
}

func TestSheetWithErrorsComputesWhatIsSound(t *testing.T) {
	for name, c := range broken {
		t.Run(name, func(t *testing.T) {
			r := sheet.Read(sheet.Input{Path: "test.leaf", Texts: []sheet.Text{{Name: "test.leaf", Text: c.text}}, Alone: true})
			if !r.List.Errors() || r.Sheet == nil {
				t.Fatalf("read as sound: %v", r.List)
			}
			result, err := r.Sheet.Compute()
			if err != nil {
				t.Fatal(err)
			}
			for name, want := range c.sound {
				if got := valueText(t, result, name); got != want {
					t.Errorf("%s is %s, not %s", name, got, want)
				}
			}
			for name, line := range c.waits {
				p := place(t, r.Sheet, name)
				d := r.Sheet.Unsound(p)
				if d == nil {
					t.Errorf("%s is computed: %s", name, valueText(t, result, name))
				} else if at := d.File.LineOf(d.Span.Start); at+1 != line {
					t.Errorf("%s waits for an error in line %d, not %d", name, at+1, line)
				}
			}
		})
	}
}

func place(t *testing.T, s *sheet.Sheet, name string) sheet.Place {
	t.Helper()
	if p, d := s.Place(name); d == nil {
		return p
	}
	cell, column := s.Model.Resolve(name)
	if cell == nil && column == nil {
		t.Fatalf("no %s", name)
	}
	return sheet.Place{Cell: cell, Column: column, Row: sheet.Whole}
}

func valueText(t *testing.T, r *sheet.Result, name string) string {
	t.Helper()
	p := place(t, r.Sheet, name)
	v := r.At(p)
	if f := v.Fault(); f != nil {
		return "fault: " + f.Cause
	}
	return r.Sheet.Text(p.Quantity(), v.V)
}

// TestOverrideWithErrorTakesValueAway: a value of a used sheet that a wrong
// line overrides is not shown as if the line were not there.
func TestOverrideWithErrorTakesValueAway(t *testing.T) {
	bike := sheet.Text{Name: "bike.leaf", Text: "rear : 40 teeth\nfront : 20 teeth\nratio = rear / front\nother = front * 2\ntable gears\n  ratio : 1, 2\nlast_ratio = last(gears.ratio)\n"}
	for _, line := range []string{"rear : 42 tets", "rear 42 teeth", "rear : ", "rear : 42 teeth 5", "Rear : 42 teeth", "rear = 42 teeth +"} {
		r := sheet.Read(sheet.Input{Path: "day.leaf", Texts: []sheet.Text{{Name: "day.leaf", Text: "use \"bike.leaf\"\n" + line + "\n"}, bike}, Alone: true})
		if !r.List.Errors() {
			t.Errorf("%q is sound", line)
			continue
		}
		for _, name := range []string{"rear", "ratio"} {
			if d := r.Sheet.Unsound(place(t, r.Sheet, name)); d == nil {
				t.Errorf("%q: %s is computed", line, name)
			}
		}
		if d := r.Sheet.Unsound(place(t, r.Sheet, "other")); d != nil {
			t.Errorf("%q: other is not computed: %s", line, d.Message)
		}
	}
	for _, line := range []string{"gears.ratio[2] : x", "gears.ratio[2] 3", "gears.ratio[ : 3"} {
		r := sheet.Read(sheet.Input{Path: "day.leaf", Texts: []sheet.Text{{Name: "day.leaf", Text: "use \"bike.leaf\"\n" + line + "\n"}, bike}, Alone: true})
		if d := r.Sheet.Unsound(place(t, r.Sheet, "last_ratio")); d == nil {
			t.Errorf("%q: last_ratio is computed", line)
		}
	}
	r := sheet.Read(sheet.Input{Path: "day.leaf", Texts: []sheet.Text{{Name: "day.leaf", Text: "use \"byke.leaf\"\nx : 3\ny = x + 1\n"}, bike}, Alone: true})
	if d := r.Sheet.Unsound(place(t, r.Sheet, "y")); d == nil {
		t.Error("y is computed, though a used sheet, which could replace x, is missing")
	}
	if len(r.Missed) != 1 || r.Missed[0] != "byke.leaf" || len(r.Read) != 1 {
		t.Errorf("read %q, missed %q", r.Read, r.Missed)
	}
}

var (
	edits = flag.Int("edits", 3000, "random edits in TestRandomEdits")
	seed  = flag.Uint64("seed", 1, "seed of TestRandomEdits; a long campaign runs in parts, each with its own")
)

// TestRandomEdits edits templates at random. Nothing panics, both evaluators
// agree on what is sound, and a cell that is sound, and all that it reads too,
// has the value that it has in the sheet without the lines that have errors.
func TestRandomEdits(t *testing.T) {
	files, _ := filepath.Glob("../templates/*.leaf")
	var texts []string
	for _, f := range files {
		if data, err := os.ReadFile(f); err == nil && len(data) < 12_000 {
			texts = append(texts, string(data))
		}
	}
	for _, c := range broken {
		texts = append(texts, c.text)
	}
	rng := rand.New(rand.NewPCG(*seed, 7))
	text, left := "", 0
	compared := 0
	for i := range *edits {
		if left--; left < 0 {
			text, left = texts[rng.IntN(len(texts))], rng.IntN(40)
		}
		before := text
		text = edited(rng, text, texts)
		r := readOrReport(t, before, text)
		if r.Sheet == nil {
			left = 0
			continue
		}
		if i%10 != 0 && r.List.Errors() {
			continue
		}
		result := r.Sheet.Evaluate()
		if len(text) < 3000 || i%200 == 0 {
			if err := result.Confirm(t.Context()); err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
		}
		if r.List.Errors() {
			compared += withoutErrors(t, result, text)
		}
	}
	if compared < *edits/10 {
		t.Errorf("only %d values of sheets with errors were compared", compared)
	}
}

// withoutErrors compares the values of a sheet with errors with those of the
// sheet without the statements that have one.
func withoutErrors(t *testing.T, r *sheet.Result, text string) (compared int) {
	tree, _ := syntax.Parse(source.New("test.leaf", text))
	wrong := map[int]bool{}
	at := func(place int32) {
		i := sort.Search(len(tree.Stmts), func(i int) bool { return tree.Stmts[i].Base().Span.Start > place })
		wrong[i-1] = true
	}
	for _, d := range readOrReport(t, "", text).List {
		if d.Severity == diag.Error {
			at(d.Span.Start)
		}
	}
	for _, span := range tree.Broken() {
		at(span.Start)
	}
	kept := ""
	for i, s := range tree.Stmts {
		end := int32(len(text))
		if i+1 < len(tree.Stmts) {
			end = tree.Stmts[i+1].Base().Span.Start
		}
		if !wrong[i] {
			kept += text[s.Base().Span.Start:end]
		}
	}
	other := readOrReport(t, text, kept)
	if other.Sheet == nil {
		return 0
	}
	values := other.Sheet.Evaluate()
	for _, p := range r.Sheet.Names() {
		if r.Sheet.Unsound(p) != nil || p.Column != nil {
			continue
		}
		q, d := other.Sheet.Place(p.Name())
		if d != nil || other.Sheet.Unsound(q) != nil {
			continue // what it reads was removed with the rest of a table
		}
		compared++
		if a, b := r.At(p).V, values.At(q).V; !referee.Same(a, b) && r.Sheet.Model.Texts == nil {
			t.Errorf("%s is %g in a sheet with\n%v\nand %g without", p.Name(), a, errorLines(r.Sheet), b)
			return compared
		}
	}
	return compared
}

// errorLines returns the lines of s with errors, and the messages.
func errorLines(s *sheet.Sheet) string {
	var b strings.Builder
	file := s.Model.Files[0].File
	for _, d := range sheet.Read(sheet.Input{Path: "t", Texts: []sheet.Text{{Name: "t", Text: file.Text}}, Alone: true}).List {
		if d.Severity == diag.Error {
			line := file.LineOf(d.Span.Start)
			fmt.Fprintf(&b, "%d: %s (%s)\n", line+1, file.Slice(file.Line(line)), d.Message)
		}
	}
	return b.String()
}

func readOrReport(t *testing.T, before, text string) *sheet.Reading {
	defer func() {
		if p := recover(); p != nil {
			t.Logf("before:\n%s\nafter:\n%s", before, text)
			panic(p)
		}
	}()
	r := sheet.Read(sheet.Input{Path: "test.leaf", Texts: []sheet.Text{{Name: "test.leaf", Text: text}}, Alone: true})
	if r.Sheet != nil {
		r.Sheet.Evaluate()
	}
	return r
}

// edited makes one edit of the kinds that people make.
func edited(rng *rand.Rand, text string, texts []string) string {
	at := rng.IntN(len(text) + 1)
	end := min(len(text), at+rng.IntN(6))
	switch rng.IntN(8) {
	case 0: // typed
		const keys = "abcxyz0123456789 .,:=+-*/^()[]\"|#%<>\n_±"
		r := []rune(keys)
		return text[:at] + string(r[rng.IntN(len(r))]) + text[at:]
	case 1: // deleted
		return strings.ToValidUTF8(text[:at]+text[end:], "")
	case 2: // a piece from elsewhere
		other := texts[rng.IntN(len(texts))]
		from := rng.IntN(len(other))
		return strings.ToValidUTF8(text[:at]+other[from:min(len(other), from+rng.IntN(60))]+text[at:], "")
	case 3, 4: // a word
		words := strings.Fields("prev( next( sum( min() lookup( if then else and or not start until range choice as to sd ± use unit table function limit log correlate from rows yes no pi row () m/s kg degC psig % teeth max(1) clamp(1,2,3) sqrt(-1) round(1) 1/0 valid source example")
		return strings.ToValidUTF8(text[:at]+" "+words[rng.IntN(len(words))]+" "+text[at:], "")
	case 5: // a line taken out
		lines := strings.SplitAfter(text, "\n")
		i := rng.IntN(len(lines))
		return strings.Join(append(lines[:i:i], lines[i+1:]...), "")
	case 6: // a line twice
		lines := strings.SplitAfter(text, "\n")
		i, j := rng.IntN(len(lines)), rng.IntN(len(lines))
		return strings.Join(append(lines[:j:j], append([]string{lines[i]}, lines[j:]...)...), "")
	}
	// one name in place of another
	words := strings.FieldsFunc(text, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r == '_') })
	if len(words) < 2 {
		return text
	}
	return strings.Replace(text, words[rng.IntN(len(words))], words[rng.IntN(len(words))], 1+rng.IntN(2))
}
