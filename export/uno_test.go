package export

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// changeInOffice changes fields as a person would in each workbook named on
// standard input, lets everything follow, and saves: a line is `open in.xlsx`,
// `number tab place value`, `text tab place value`, or `save out.xlsx`, parted by
// tabs.
const changeInOffice = `
book = None
for line in sys.stdin:
    words = line.rstrip("\n").split("\t")
    if words[0] == "open":
        book = desktop.loadComponentFromURL("file://" + words[1], "_blank", 0, (prop("Hidden", True),))
    elif words[0] == "number":
        book.Sheets.getByName(words[1]).getCellRangeByName(words[2]).Value = float(words[3])
    elif words[0] == "text":
        book.Sheets.getByName(words[1]).getCellRangeByName(words[2]).String = words[3]
    elif words[0] == "save":
        book.calculateAll()
        book.storeToURL("file://" + words[1], (prop("FilterName", "Calc MS Excel 2007 XML"),))
        book.close(True)
`

// unoPython returns a python3 that can steer LibreOffice.
func unoPython(t *testing.T) string {
	t.Helper()
	for _, p := range []string{"/usr/bin/python3", "python3", "/usr/lib/libreoffice/program/python"} {
		if exec.Command(p, "-c", "import uno").Run() == nil {
			return p
		}
	}
	missing(t, "no python3 with uno: nothing was changed in LibreOffice")
	return ""
}

// officeCase is a workbook, changed.
type officeCase struct {
	sample
	settings []sheet.Setting
	changes  [][4]string // kind, tab, place, value
	out      string
}

// changedCases returns workbooks in which every given has another value: of each
// template that is not large, or of all where GEARLEAF_BOOKS says so, one for
// each seed.
func changedCases(t *testing.T, dir string, seeds ...uint64) []officeCase {
	t.Helper()
	const large = 250_000 // bytes
	var cases []officeCase
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		if !strings.HasPrefix(s.name, "template-") || len(data) > large && os.Getenv("GEARLEAF_BOOKS") != "all" {
			continue
		}
		for _, seed := range seeds {
			c := officeCase{sample: s, out: filepath.Join(dir, fmt.Sprintf("%s-%d.xlsx", s.name, seed))}
			c.change(t, data, seed)
			cases = append(cases, c)
		}
	}
	if len(cases) < 8 {
		t.Fatalf("%d workbooks are changed", len(cases))
	}
	return cases
}

// change draws another value for every given; of a column, for one row.
func (c *officeCase) change(t *testing.T, data []byte, seed uint64) {
	t.Helper()
	book, err := readBook(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	draw := rand.New(rand.NewPCG(seed, 7))
	b := newBook(c.s, c.r)
	for i, g := range c.s.Model.Cells {
		if g.Given && !g.Plugged {
			tab, cell, _ := split(book.refs[b.cells[i].name], 0)
			c.chanceChange(t, draw, g.Name, &g.Quantity, g.Value, 0.03, tab, cell)
		}
	}
	for _, plan := range b.tables {
		for i, g := range plan.t.Columns {
			if g.Given && !plan.t.Library && plan.t.From == "" && len(g.Values) > 0 {
				row := draw.IntN(len(g.Values))
				tab, cell, _ := split(book.refs[plan.names[plan.column(i)]], row)
				name := fmt.Sprintf("%s.%s[%d]", plan.t.Name, g.Name, row+1)
				const part = 0.004 // the columns of a look-up stay in order
				c.chanceChange(t, draw, name, &g.Quantity, g.Values[row], part, tab, cell)
			}
		}
	}
	if len(c.settings) < 3 {
		t.Fatalf("%s: only %d changes", c.name, len(c.settings))
	}
}

// TestChangedInLibreOffice changes every given in LibreOffice, by chance but
// within what is allowed, in two locales, and saves. What it has computed then
// must be what we compute, and what is read back exactly what was changed.
func TestChangedInLibreOffice(t *testing.T) {
	tool(t, "soffice")
	dir := t.TempDir()
	for locale, seeds := range map[string][]uint64{"en-US": {0, 2}, "de-DE": {1}} {
		cases := changedCases(t, dir, seeds...)
		var script strings.Builder
		for _, c := range cases {
			in := filepath.Join(dir, c.name+".xlsx")
			data, _ := c.workbook(t)
			if err := os.WriteFile(in, data, 0o644); err != nil {
				t.Fatal(err)
			}
			fmt.Fprintf(&script, "open\t%s\n", in)
			for _, change := range c.changes {
				fmt.Fprintln(&script, strings.Join(change[:], "\t"))
			}
			fmt.Fprintf(&script, "save\t%s\n", c.out)
		}
		inOffice(t, locale, indented(changeInOffice), script.String())
		for _, c := range cases {
			c.check(t)
		}
	}
}

// TestChangedInGnumeric does so in gnumeric, which has no hands: the fields are
// changed before, and what was cached is spoiled.
func TestChangedInGnumeric(t *testing.T) {
	ssconvert := tool(t, "ssconvert")
	dir := t.TempDir()
	for _, c := range changedCases(t, dir, 3, 4, 5) {
		data, _ := c.workbook(t)
		f, err := excelize.OpenReader(bytes.NewReader(spoiled(t, data)))
		if err != nil {
			t.Fatal(err)
		}
		for _, change := range c.changes {
			set := f.SetCellStr(change[1], change[2], change[3])
			if v, err := strconv.ParseFloat(change[3], 64); change[0] == "number" && err == nil {
				set = f.SetCellFloat(change[1], change[2], v, -1, 64)
			}
			if set != nil {
				t.Fatal(set)
			}
		}
		in := filepath.Join(dir, "in.xlsx")
		if err := f.SaveAs(in); err != nil {
			t.Fatal(err)
		}
		if msg, err := exec.Command(ssconvert, "--recalc", in, c.out).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", c.name, err, msg)
		}
		c.check(t)
	}
}

// chanceChange draws another value for one given; none where there is none.
func (c *officeCase) chanceChange(t *testing.T, draw *rand.Rand, name string, q *check.Quantity, v, part float64, tab, cell string) {
	t.Helper()
	kind, value := "number", ""
	switch {
	case len(q.Choice) > 0:
		value = choiceText(c.s.Model, q, q.Choice[draw.IntN(len(q.Choice))])
		if q.Type.Form != check.Number {
			kind = "text"
		}
	case q.Type.Form == check.Truth:
		kind, value = "text", yesNo(1-v)
	case q.Type.Form == check.Text || v != v:
		return
	default:
		value = chanceNumber(draw, q, v, part)
	}
	said := value
	if kind == "text" && q.Type.Form == check.Text {
		said = syntax.Quote(value)
	}
	set, d := c.s.ParseSetting(name + "=" + said)
	if d != nil {
		t.Fatalf("%s: %s=%s: %s", c.name, name, said, d.Message)
	}
	if set.Value == v {
		return
	}
	if x, err := strconv.ParseFloat(strings.TrimSuffix(value, "%"), 64); err == nil && isPercent(q.Unit) {
		value = strconv.FormatFloat(trimmed(x/100), 'g', -1, 64)
	}
	c.settings = append(c.settings, set)
	c.changes = append(c.changes, [4]string{kind, tab, cell, value})
}

// chanceNumber draws a number near the one that is there, within its range.
func chanceNumber(draw *rand.Rand, q *check.Quantity, v, part float64) string {
	u := shownUnit(q.Unit)
	lo, hi := u.Clean(v)*(1-part), u.Clean(v)*(1+part)
	lo, hi = min(lo, hi), max(lo, hi)
	if q.Range != nil {
		a, b := u.Clean(q.Range[0]), u.Clean(q.Range[1])
		lo, hi = max(min(lo, hi), min(a, b)), min(max(lo, hi), max(a, b))
	}
	x := lo + (hi-lo)*draw.Float64()
	if q.Whole {
		x = u.Clean(v)
		if q.Range == nil || x+1 <= u.Clean(q.Range[1]) {
			x++
		} else {
			x--
		}
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 7, 64)
}

// check compares what LibreOffice saved with what we compute, and reads it
// back.
func (c officeCase) check(t *testing.T) {
	t.Helper()
	name := filepath.Base(c.out)
	back, list, err := OpenReturned(c.out, c.s)
	if err != nil || back == nil {
		t.Fatalf("%s: %v %v", name, err, list)
	}
	if changed := back.Problems; len(changed)+len(back.Notes) > 0 {
		t.Errorf("%s: taken for changed: %q %q", name, changed, back.Notes)
	}
	m, err := back.Merge(c.s)
	if err != nil || len(m.Conflicts)+len(m.Refused)+len(m.Already) > 0 || m.TextChanged {
		t.Fatalf("%s: %+v %v", name, m, err)
	}
	want, got := map[string]float64{}, map[string]float64{}
	for _, set := range c.settings {
		want[set.Name()] = set.Value
	}
	for _, set := range m.Settings {
		got[set.Name()] = set.Value
	}
	for n, v := range want {
		if w, ok := got[n]; !ok || !agree(v, w, 1e-14) {
			t.Errorf("%s: %s is %v, read back %v (%t)", name, n, v, w, ok)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%s: %d changes were made, %d read back: %v", name, len(want), len(got), got)
	}
	changed, err := c.s.Change(c.settings)
	if err != nil {
		t.Fatal(err)
	}
	var ours bytes.Buffer
	after := *c.s
	after.Settings = nil
	after.Set(c.settings...)
	if _, err := writeWorkbook(&ours, &after, changed.After, Options{}); err != nil {
		t.Fatal(err)
	}
	// The digits that tell the sides of a limit apart, in that column, are those
	// of the values when the workbook was written, and so is a fault's cause.
	compareBooks(t, name, ours.Bytes(), c.out, "Limits!$K$", "When written it")
}
