package export

import (
	"bytes"
	"cmp"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/syntax"

	"github.com/xuri/excelize/v2"
)

var sampleNames = flag.String("samples", "", "test only samples whose names match this expression")

// sample is one worksheet that the tests export.
type sample struct {
	name string
	s    *sheet.Sheet
	r    *sheet.Result
}

func load(t testing.TB, name, text string) sample {
	t.Helper()
	s, list := sheet.FromText(name, text)
	return computed(t, name, s, list)
}

func computed(t testing.TB, name string, s *sheet.Sheet, list diag.List) sample {
	t.Helper()
	if s == nil {
		var b strings.Builder
		diag.Print(&b, list, diag.Look{})
		t.Fatalf("%s: %s", name, b.String())
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return sample{name: name, s: s, r: r}
}

// samples returns the sheets of testdata, the templates, every function of
// the library called as its own examples do, and some made by chance.
func samples(t testing.TB) []sample {
	t.Helper()
	if loaded == nil {
		loaded = loadSamples(t)
	}
	return loaded
}

// loaded and written keep the samples and their workbooks for all tests.
var (
	loaded  []sample
	written = map[string]output{}
)

type output struct {
	data   []byte
	report Report
}

func loadSamples(t testing.TB) []sample {
	t.Helper()
	var all []sample
	files, err := filepath.Glob("testdata/*.leaf")
	if err != nil || len(files) < 3 {
		t.Fatalf("testdata holds %d worksheets (%v)", len(files), err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, load(t, strings.TrimSuffix(filepath.Base(path), ".leaf"), string(text)))
	}
	all = append(all, loadTemplates(t)...)
	all = append(all, load(t, "library", librarySheet()))
	for seed := uint64(1); seed <= 8; seed++ {
		o := generate.Everything(seed, 60)
		o.Faults = seed%2 == 0
		all = append(all, load(t, "chance-"+strconv.Itoa(int(seed)), generate.Worksheet(o)))
	}
	only, err := regexp.Compile(*sampleNames)
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(all, func(s sample) bool { return !only.MatchString(s.name) })
}

// loadTemplates returns the templates, from their folder: some use others, or
// read a file beside them.
func loadTemplates(t testing.TB) []sample {
	t.Helper()
	paths, err := filepath.Glob("../templates/*.leaf")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no templates (%v)", err)
	}
	var all []sample
	for _, path := range paths {
		s, list := sheet.Load(path)
		all = append(all, computed(t, "template-"+strings.TrimSuffix(filepath.Base(path), ".leaf"), s, list))
	}
	return all
}

// librarySheet calls every function of the library as its examples do.
func librarySheet() string {
	var b strings.Builder
	b.WriteString("title \"Every function of the library\"\n")
	for _, tree := range sheet.Library().Files {
		for _, stmt := range tree.Stmts {
			f, ok := stmt.(*syntax.Function)
			if !ok {
				continue
			}
			for i, example := range f.Example {
				b.WriteString("example_" + f.Name.Text + "_" + strconv.Itoa(i+1) + " = " + syntax.String(example) + "\n")
			}
		}
	}
	return b.String()
}

// workbook returns the sample's workbook, made once.
func (s sample) workbook(t testing.TB) ([]byte, Report) {
	t.Helper()
	o, known := written[s.name]
	if !known {
		o.data, o.report = s.write(t)
		written[s.name] = o
	}
	return o.data, o.report
}

func (s sample) write(t testing.TB) ([]byte, Report) {
	t.Helper()
	var b bytes.Buffer
	report, err := writeWorkbook(&b, s.s, s.r, Options{})
	if err != nil {
		t.Fatalf("%s: %v", s.name, err)
	}
	return b.Bytes(), report
}

func TestWorkbookTwiceTheSameBytes(t *testing.T) {
	for _, s := range samples(t) {
		first, _ := s.workbook(t)
		second, _ := s.write(t)
		if !bytes.Equal(first, second) {
			t.Errorf("%s: two workbooks of one sheet differ", s.name)
		}
	}
}

func TestEveryFormulaIsLive(t *testing.T) {
	for _, s := range samples(t) {
		_, report := s.workbook(t)
		for _, f := range report.Frozen {
			t.Errorf("%s: %s is a value, not a formula: %s", s.name, f.Cell, f.Why)
		}
	}
}

// TestCachedValues proves that the cached value of each formula is the
// engine's, to the last bit, and of the right type.
func TestCachedValues(t *testing.T) {
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		g := readGrid(t, data)
		book, err := readBook(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		named := func(name string, row int) field {
			tab, cell, ok := split(book.refs[name], row)
			if !ok {
				t.Fatalf("%s: nothing is called %s", s.name, name)
			}
			return g[tab][cell]
		}
		b := newBook(s.s, s.r)
		for _, c := range s.s.Model.Cells {
			if !c.Plugged {
				checkCached(t, s, c.Name, named(b.cells[c.Index].name, 0), cellFigure(s, &c.Quantity, s.r.Cell(c)), !c.Given)
			}
		}
		for _, plan := range b.tables {
			for i, c := range plan.t.Columns {
				for row := range plan.t.Rows {
					v := s.r.Entry(c, row)
					if c.Given && v.IsBlank() {
						continue // what was entered stays after the last live row
					}
					checkCached(t, s, c.Name+" "+strconv.Itoa(row), named(plan.names[plan.column(i)], row), cellFigure(s, &c.Quantity, v), !c.Given)
				}
			}
		}
	}
}

// roundedSheet has quantities with every kind of step.
const roundedSheet = `title "Rounded"
x : 11234.56 rpm
share : 78.26 %
a = x * 1           to 10
b = x * 1           to 0.25
c = x * 1           to 0.1
d = share * 1 as %  to 0.5
e = a + 0 rpm       to 1
limit a <= 11235 rpm
table t rows 4 until row >= 3
  speed = x * row   to 100
  sum   = prev(sum) + speed start x  to 50
last_speed = last(t.speed) to 25
`

// TestRoundedAsShown compares what the cells of quantities with a step show with
// the digits that the sheet shows.
func TestRoundedAsShown(t *testing.T) {
	s := load(t, "rounded", roundedSheet)
	data, _ := s.workbook(t)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	b := newBook(s.s, s.r)
	compare := func(name, tab, cell string, q *check.Quantity, v sheet.Value) {
		t.Helper()
		got, err := f.GetCellValue(tab, cell)
		want := ""
		if !v.IsBlank() {
			want, _ = s.s.Shown(q, v.V)
		}
		if got = strings.TrimSuffix(got, "%"); err != nil || got != want {
			t.Errorf("%s shows %q, the sheet %q (%v)", name, got, want, err)
		}
	}
	for _, c := range s.s.Model.Cells {
		compare(c.Name, b.cells[c.Index].leaf.name, at(valueColumn, b.cells[c.Index].row), &c.Quantity, s.r.Cell(c))
	}
	for i, c := range s.s.Model.Tables[0].Columns {
		for row := range 4 {
			compare(c.Name+strconv.Itoa(row), b.tables[0].tab, at(b.tables[0].column(i), b.tables[0].first+row), &c.Quantity, s.r.Entry(c, row))
		}
	}
}

// cellFigure is a value as its cell holds it: a percentage is a fraction there.
func cellFigure(s sample, q *check.Quantity, v sheet.Value) figure {
	f := figureOf(s.s, q, v)
	if f.numeric {
		f.number = cellUnit(q.Unit).Number(f.si)
	}
	return f
}

func checkCached(t *testing.T, s sample, name string, f field, want figure, live bool) {
	t.Helper()
	if live && f.formula == "" {
		t.Errorf("%s: %s has no formula", s.name, name)
	}
	switch {
	case want.fault != "":
		if f.kind != "e" || !strings.HasPrefix(f.value, "#") {
			t.Errorf("%s: %s is at fault, the cell holds %+v", s.name, name, f)
		}
	case want.blank:
		if f.value != "" {
			t.Errorf("%s: %s is blank, the cell holds %+v", s.name, name, f)
		}
	case want.numeric:
		got, err := strconv.ParseFloat(f.value, 64)
		if err != nil || f.kind != "" && f.kind != "n" {
			t.Errorf("%s: %s is a number, the cell holds %+v", s.name, name, f)
		}
		// A given is written as it was typed, without the noise of the way to
		// SI and back, which with an offset is more than the last digit.
		if live && got != want.number || !agree(got, want.number, 1e-12) {
			t.Errorf("%s: %s: the cell holds %s, want %v", s.name, name, f.value, want.number)
		}
	default:
		if f.value != want.text {
			t.Errorf("%s: %s is %q, the cell holds %+v", s.name, name, want.text, f)
		}
	}
}

// agree reports whether two numbers are equal to within a part of the larger.
func agree(a, b, part float64) bool {
	return a == b || max(a-b, b-a) <= part*max(a, -a, b, -b)
}

// TestFormulasAreShort holds every formula to what a spreadsheet takes, and those
// of the templates to what a person reads: in each workbook half have no more
// than 80 characters, no more than 20 have over 400; none has a number with
// rounding noise or a condition twice. What people see has a cached value.
func TestFormulasAreShort(t *testing.T) {
	numbers, conditions := 0, 0
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		g := readGrid(t, data)
		var all []string
		for _, tab := range g.tabs() {
			for _, ref := range g.places(tab) {
				f := g[tab][ref].formula
				if len(f) > maxFormula || nesting(f) > 64 {
					t.Errorf("%s: %s!%s has %d characters and %d levels", s.name, tab, ref, len(f), nesting(f))
				}
				if f != "" {
					all = append(all, f)
				}
			}
		}
		seenHaveValues(t, s.name, g)
		if !strings.HasPrefix(s.name, "chance-") {
			numbers += withoutNoise(t, s.name, g)
		}
		if strings.HasPrefix(s.name, "template-") {
			readable(t, s.name, all)
			conditions += conditionsOnce(t, s.name, g)
		}
	}
	if *sampleNames == "" && (numbers < 10_000 || conditions < 1000) {
		t.Errorf("%d numbers and %d conditions were read", numbers, conditions)
	}
}

// readable holds the formulas of a workbook to their lengths. It prints the ten
// longest with -v.
func readable(t *testing.T, name string, all []string) {
	t.Helper()
	slices.SortFunc(all, func(a, b string) int { return cmp.Or(len(b)-len(a), strings.Compare(a, b)) })
	over := 0
	for over < len(all) && len(all[over]) > 400 {
		over++
	}
	median := len(all[len(all)/2])
	t.Logf("%s: %d formulas, half up to %d characters, %d over 400", name, len(all), median, over)
	for _, f := range all[:min(10, len(all))] {
		t.Logf("%d %s", len(f), f)
	}
	if median > 80 {
		t.Errorf("%s: half of the formulas have up to %d characters", name, median)
	}
	if over > 20 {
		t.Errorf("%s: %d formulas have over 400 characters", name, over)
	}
}

// TestTableEntriesAreSmall holds the file of a long table to 12 bytes an entry,
// beside what its other tabs need.
func TestTableEntriesAreSmall(t *testing.T) {
	for _, s := range samples(t) {
		entries := 0
		for _, table := range s.s.Model.Tables {
			entries += table.Rows * len(table.Columns)
		}
		if data, _ := s.workbook(t); entries > 100_000 && len(data) > 12*entries+200_000 {
			t.Errorf("%s: %d bytes for %d entries", s.name, len(data), entries)
		}
	}
}

func nesting(formula string) int {
	depth, deepest := 0, 0
	for _, r := range formula {
		switch r {
		case '(':
			depth++
			deepest = max(deepest, depth)
		case ')':
			depth--
		}
	}
	return deepest
}
