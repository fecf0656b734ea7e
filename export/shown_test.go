package export

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// shownCells calls visit with the place of every number of a sheet in its
// workbook, and the text that the sheet shows; of a long table the first and the
// last rows.
func shownCells(s sample, visit func(name, tab, cell, want string, tie bool)) {
	b := newBook(s.s, s.r)
	show := func(name, tab, cell string, q *check.Quantity, v sheet.Value) {
		if q.Type.Form != check.Number || v.IsFault() {
			return
		}
		want := ""
		if !v.IsBlank() {
			want, _ = s.s.Shown(q, v.V)
		}
		visit(name, tab, cell, want, isTie(q, v.V))
	}
	for _, c := range s.s.Model.Cells {
		if !c.Plugged {
			p := &b.cells[c.Index]
			show(c.Name, p.leaf.name, at(valueColumn, p.row), &c.Quantity, s.r.Cell(c))
		}
	}
	for _, t := range b.tables {
		for i, c := range t.t.Columns {
			if t.t.Library || t.t.From != "" && c.Given {
				continue
			}
			for row := range t.t.Rows {
				if v := s.r.Entry(c, row); (row < 60 || row > t.t.Rows-20) && !(c.Given && v.IsBlank()) {
					show(t.t.Name+"."+c.Name, t.tab, at(t.column(i), t.first+row), &c.Quantity, v)
				}
			}
		}
	}
}

// isTie reports whether a computed value lies half-way between two steps except
// for rounding. The number formats of LibreOffice then go by the last bit, where
// the sheet, and what other programs show, goes by the decimal number.
func isTie(q *check.Quantity, v float64) bool {
	if q.Given || q.To == 0 {
		return false
	}
	steps := shownUnit(q.Unit).Number(v) / q.To
	return math.Abs(math.Abs(steps-math.Trunc(steps))-0.5) < 1e-9
}

// exactTies is the name of a sheet whose values are the nearest to a decimal number
// half-way between two steps: all that show them round away from zero. Of a value
// with the rounding errors of a sum, the sheet and the page take fifteen digits;
// LibreOffice takes the last bit, and its own sum of two numbers may have another.
const exactTies = "exact-ties"

// tiesText returns that sheet.
func tiesText() string {
	var b strings.Builder
	b.WriteString("one : 1\nlarge = one * 1e21\nlarger = one * 1.5e21\nspeed = one * 8.345 mph as mph to 0.01\nshare = one * 4.35 % as % to 0.1\nturns = one * 1234.5 rpm as rpm to 1\n")
	n := 0
	for places := range 4 {
		step := strconv.FormatFloat(math.Pow10(-places), 'f', places, 64)
		for _, k := range []int{0, 1, 2, 28, 100, 267, 4349, -2, -13} {
			tie := strconv.FormatFloat((float64(k)+0.5)*math.Pow10(-places), 'f', places+1, 64)
			fmt.Fprintf(&b, "t%d = one * %s to %s\n", n, tie, step)
			n++
		}
	}
	return b.String()
}

// TestTiesRoundAwayFromZero computes what the terminal shows.
func TestTiesRoundAwayFromZero(t *testing.T) {
	s := load(t, exactTies, tiesText())
	for name, want := range map[string]string{
		"speed": "8.35", "share": "4.4", "turns": "1235", "t0": "1", "t2": "3", "t7": "-2", "t13": "10.1", "t22": "1.01", "t23": "2.68", "t26": "-0.13", "t35": "-0.013",
	} {
		c, _ := s.s.Model.Resolve(name)
		if c == nil {
			t.Fatalf("no cell %s", name)
		}
		if got, _ := s.s.Shown(&c.Quantity, s.r.Cell(c).V); got != want || !isTie(&c.Quantity, s.r.Cell(c).V) {
			t.Errorf("%s shows %s, want %s", name, got, want)
		}
	}
}

// oneStep reports whether two texts of numbers differ by one in the last digit.
func oneStep(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	_, fraction, _ := strings.Cut(b, ".")
	return errX == nil && errY == nil && math.Abs(x-y) < 1.01*math.Pow10(-len(fraction))
}

// noise reports whether a text in the format General has the digits of another
// and then the last ones of a float64, which the width of a column cuts.
func noise(got, want string) bool {
	x, errX := strconv.ParseFloat(got, 64)
	y, errY := strconv.ParseFloat(want, 64)
	return errX == nil && errY == nil && len(got) > 14 && agree(x, y, 1e-13)
}

// shownText returns a text of a cell as the sheet writes it.
func shownText(text string) string { return strings.ToLower(strings.TrimSuffix(text, "%")) }

// showInOffice prints the text of each cell that is named on standard input: a
// line is `open in.xlsx`, `cell tab place` or `close`, separated by tabs.
const showInOffice = `
for line in sys.stdin:
    words = line.rstrip("\n").split("\t")
    if words[0] == "open":
        book = load(words[1], prop("Hidden", True))
        book.calculateAll()
    elif words[0] == "cell":
        print("shows\t" + book.Sheets.getByName(words[1]).getCellRangeByName(words[2]).String)
    elif words[0] == "close":
        book.close(True)
`

// TestShownInLibreOffice compares the text of every number in LibreOffice, with
// its number format in its column, with the text that the sheet shows.
func TestShownInLibreOffice(t *testing.T) {
	tool(t, "soffice")
	dir := t.TempDir()
	var script strings.Builder
	var places, wants []string
	var ties []bool
	for _, s := range append(samples(t), load(t, exactTies, tiesText())) {
		if strings.HasPrefix(s.name, "chance-") || s.name == "library" {
			continue
		}
		path := filepath.Join(dir, s.name+".xlsx")
		data, _ := s.workbook(t)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&script, "open\t%s\n", path)
		shownCells(s, func(name, tab, cell, want string, tie bool) {
			fmt.Fprintf(&script, "cell\t%s\t%s\n", tab, cell)
			ties = append(ties, tie && s.name != exactTies)
			places, wants = append(places, s.name+": "+name+", "+tab+"!"+cell), append(wants, want)
		})
		fmt.Fprintln(&script, "close")
	}
	// From here on nothing is shared.
	t.Parallel()
	i, wrong := 0, 0
	for _, line := range strings.Split(inOffice(t, "en-US", showInOffice, script.String()), "\n") {
		got, ok := strings.CutPrefix(line, "shows\t")
		if !ok {
			continue
		}
		got = shownText(got)
		if i < len(wants) && got != wants[i] && !noise(got, wants[i]) && !(ties[i] && oneStep(got, wants[i])) {
			if wrong++; wrong <= 40 {
				t.Errorf("%s, shows %q, the sheet %q", places[i], got, wants[i])
			}
		}
		i++
	}
	if i != len(wants) || i == 0 {
		t.Errorf("%d numbers were shown, %d expected", i, len(wants))
	}
	t.Logf("%d numbers compared, %d are shown otherwise", i, wrong)
}
