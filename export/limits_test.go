package export

import (
	"bytes"
	"cmp"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// limitsSample returns the sheet with limits of every kind.
func limitsSample(t *testing.T) sample {
	t.Helper()
	text, err := os.ReadFile("testdata/limits.leaf")
	if err != nil {
		t.Fatal(err)
	}
	return load(t, "limits", string(text))
}

// TestLimitsShow: a limit shows its sides and its margin in units of their kinds,
// with the digits of their own cells.
func TestLimitsShow(t *testing.T) {
	s := limitsSample(t)
	data, _ := s.write(t)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		"-10 deltaF|30||20|deltaF", "-0.5 psid|2.5||2|psid", "7.5 |12.5|5||", "3 %|12||15|%", "75.5 mm|7.5||83|mm",
		"1079 rpm|10920||12000|rpm", "10766 rpm|1225||12000|rpm", "-1 rpm|10921||10920|rpm", "0 rpm|10921|10921|10921|rpm",
		"20 deltaF|180||200|degF", "1 psid|30|29|31|psig", "53 mm|30||83|mm", "0.5 psid|2.5|2||psid",
	} {
		row := limitsHead + 1 + i
		show := func(column int) string {
			text, err := f.GetCellValue(limitsTab, at(column, row))
			if err != nil {
				t.Fatal(err)
			}
			if v, err := strconv.ParseFloat(text, 64); err == nil {
				return literal(v) // the library writes the zeros that # leaves out
			}
			return text
		}
		got := show(limitMarginColumn) + " " + show(limitUnitColumn) + "|" + show(limitIsColumn) + "|" + show(limitLeastColumn) + "|" + show(limitMostColumn) + "|" + show(limitValueUnitColumn)
		if got != want {
			t.Errorf("%s: %q, want %q", s.s.Model.Limits[i].Text, got, want)
		}
	}
}

// TestLimitsAgreeWithTheEngine computes the sides of every limit of every template
// as cells of the same sheet, and compares them with the tab of limits.
func TestLimitsAgreeWithTheEngine(t *testing.T) {
	compared := 0
	for _, s := range append(loadTemplates(t), limitsSample(t)) {
		with := withSides(t, s)
		data, _ := s.workbook(t)
		g := readGrid(t, data)[limitsTab]
		for i, l := range s.s.Model.Limits {
			if l.Table != nil || l.Origin.File != 0 {
				continue // over rows: see TestWorstRow; of a used sheet: see its own workbook
			}
			compared += agreesWithSides(t, s, with, g, i)
		}
	}
	if compared < 200 {
		t.Errorf("%d sides of limits were compared", compared)
	}
}

// sideName is the name of a cell with the k-th side of the i-th limit.
func sideName(i, k int) string { return "side_" + strconv.Itoa(i) + "_" + strconv.Itoa(k) }

// withSides computes a sheet with the sides of its own limits as further cells.
func withSides(t *testing.T, s sample) sample {
	t.Helper()
	var text strings.Builder
	text.WriteString(s.s.Model.Files[0].File.Text + "\n")
	for i, l := range s.s.Model.Limits {
		if l.Table != nil || l.Origin.File != 0 {
			continue
		}
		for k, operand := range operandsOf(l) {
			text.WriteString(sideName(i, k) + " = " + syntax.String(operand) + "\n")
		}
	}
	dir := t.TempDir()
	for _, pattern := range []string{"*.leaf", "*.csv"} {
		paths, err := filepath.Glob("../templates/" + pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range paths {
			part, err := os.ReadFile(path)
			if err == nil {
				err = os.WriteFile(filepath.Join(dir, filepath.Base(path)), part, 0o644)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	path := filepath.Join(dir, "with-sides.leaf")
	if err := os.WriteFile(path, []byte(text.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	sheet, list := sheet.Load(path)
	return computed(t, s.name+" with its sides", sheet, list)
}

// operandsOf returns the numbers that a limit compares; none of another condition.
func operandsOf(l *check.Limit) []syntax.Expr {
	chain, ok := l.Decl().Cond.(*syntax.Chain)
	if !ok || l.Unit.Scale == 0 {
		return nil
	}
	return chain.Operands
}

// agreesWithSides compares the sides of one limit with the cells that compute
// them, and returns how many there are.
func agreesWithSides(t *testing.T, s, with sample, g map[string]field, i int) int {
	t.Helper()
	l, row := s.s.Model.Limits[i], limitsHead+1+i
	number := func(column int) float64 {
		c := g[at(column, row)]
		if exact, hidden := exactColumns[column]; hidden && g[at(exact, row)].kind+g[at(exact, row)].value != "" {
			c = g[at(exact, row)]
		}
		v, err := strconv.ParseFloat(c.value, 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	is, least, most := number(limitIsColumn), number(limitLeastColumn), number(limitMostColumn)
	operands := operandsOf(l)
	for k, operand := range operands {
		cell, _ := with.s.Model.Resolve(sideName(i, k))
		v := with.r.Cell(cell)
		if v.IsFault() || v.IsBlank() {
			continue
		}
		want, near := shownUnit(l.Unit).Number(v.V), 1e-9
		if !agree(want, is, near) && !agree(want, least, near) && !agree(want, most, near) {
			t.Errorf("%s: %s: the side %s is %v %s, the tab has %v from %v to %v", s.name, l.Text, syntax.String(operand), want, l.Unit.Symbol, is, least, most)
		}
	}
	if len(operands) == 0 {
		return 0
	}
	margin := number(limitMarginColumn)
	state, _ := s.r.Limit(l)
	if small := 1e-9 * math.Abs(is); state != sheet.Waiting && (margin != margin || (margin < -small) != (state != sheet.Kept)) && math.Abs(margin) > small {
		t.Errorf("%s: %s is %s with a margin of %v", s.name, l.Text, state, margin)
	}
	return len(operands)
}

// exactColumns are the hidden columns with the exact numbers of the visible ones.
var exactColumns = map[int]int{
	limitIsColumn: limitExactColumn, limitLeastColumn: limitExactLeastColumn, limitMostColumn: limitExactMostColumn, limitMarginColumn: limitExactMarginColumn,
}

// TestShownSidesFitTheVerdict: what is seen of a limit's sides and margin, and the
// text of the other reports, never says something else than its state, and a typed
// bound is shown as it was typed.
func TestShownSidesFitTheVerdict(t *testing.T) {
	compared := 0
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		g := readGrid(t, data)[limitsTab]
		b := newBook(s.s, s.r)
		for i := range s.s.Model.Limits {
			if b.checks[i].bounds != nil {
				compared += fitsVerdict(t, s, &b.checks[i], g)
			}
		}
	}
	if compared < 300 {
		t.Errorf("%d limits were compared", compared)
	}
}

// fitsVerdict returns 1 if a limit was compared.
func fitsVerdict(t *testing.T, s sample, c *checkPlan, g map[string]field) int {
	t.Helper()
	number := func(column int) float64 {
		v, err := strconv.ParseFloat(g[at(column, c.row)].value, 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	is, least, most, margin := number(limitIsColumn), number(limitLeastColumn), number(limitMostColumn), number(limitMarginColumn)
	exact := c.bounds.marginOf(c.bounds.is.value, c.bounds.least.value, c.bounds.most.value)
	if margin != margin || margin == 0 && math.Abs(exact) < 1e-12 && exact != 0 {
		return 0 // LibreOffice takes such a difference for 0
	}
	said := c.bounds.marginOf(is, least, most)
	state, row := s.r.Limit(c.limit)
	text := c.limit.Text
	strict := strings.Contains(strings.NewReplacer("<=", "", ">=", "").Replace(text), "<") || strings.Contains(strings.NewReplacer("<=", "", ">=", "").Replace(text), ">")
	outside := margin < 0 || margin == 0 && strict
	if outside != (state != sheet.Kept) && state != sheet.Waiting || cmp.Compare(said, 0) != cmp.Compare(margin, 0) && math.Abs(said) > 1e-11*math.Abs(is) {
		t.Errorf("%s: %s is %s, and shows %v from %v to %v, margin %v", s.name, text, state, is, least, most, margin)
	}
	for _, side := range c.bounds.bounds() {
		if side.typed && side.shown != side.value {
			t.Errorf("%s: %s: the typed bound %v is shown as %v", s.name, text, side.value, side.shown)
		}
	}
	chain := shownChain.FindStringSubmatch(s.r.LimitNumbers(c.limit, row))
	if chain == nil || state == sheet.Waiting || c.limit.Table != nil && state == sheet.Kept {
		return 1
	}
	x, _ := strconv.ParseFloat(chain[1], 64)
	y, _ := strconv.ParseFloat(chain[4], 64)
	holds := map[string]bool{"<=": x <= y, "<": x < y, ">=": x >= y, ">": x > y}[chain[3]]
	if chain[2] == chain[5] && holds != (state == sheet.Kept) {
		t.Errorf("%s: %s is %s: %s", s.name, text, state, chain[0])
	}
	return 1
}

// shownChain matches a comparison of two numbers.
var shownChain = regexp.MustCompile(`^(-?[0-9.]+)( \S+)? (<=|<|>=|>) (-?[0-9.]+)( \S+)?$`)

// TestSmallMarginsShow: the front and the tab of limits show the digits of a small
// margin, and those that were typed.
func TestSmallMarginsShow(t *testing.T) {
	s := load(t, "margins", "a : 10.00004 mm\nb : 2 mm\nc = a * b / 1 mm as mm to 0.1\nlimit a <= 10 mm\nlimit c <= 20 mm\nd : 4.83e-10 m3/s\nlimit d <= 4.5e-10 m3/s\n"+
		"bore : 4.0045 in\nleast : 0.0045 in\nclearance = bore - 4 in as in to 0.001\nlimit clearance >= least\n")
	data, _ := s.write(t)
	g := readGrid(t, data)
	for ref, want := range map[string]string{
		"B4": broken, "C4": "-0.00004", "E4": "10.00004", "G4": "10",
		"B5": broken, "C5": "-0.00008", "E5": "20.00008", "G5": "20",
		"B6": broken, "C6": literal(-3.3e-11), "E6": literal(4.83e-10), "G6": literal(4.5e-10),
		"B7": kept, "C7": "0", "E7": "0.0045", "F7": "0.0045",
	} {
		front := ref[:1] + map[byte]string{'4': "5", '5': "7", '6': "9", '7': "11"}[ref[1]] // a reason is below each
		for _, got := range []string{g[limitsTab][ref].value, g["Sheet"][front].value} {
			if v, err := strconv.ParseFloat(got, 64); err == nil {
				got = literal(v)
			}
			if got != want {
				t.Errorf("%s shows %q, not %q", ref, got, want)
			}
		}
	}
}

// TestVerdictOfOneLimit: the front says it in the words of the other reports.
func TestVerdictOfOneLimit(t *testing.T) {
	for text, want := range map[string]string{
		"a : 2\nlimit a <= 1\n": "The limit is broken: a <= 1", "a : 2\nlimit a <= 3\n": "The limit is kept",
		"a : 2\nlimit a <= 1\nlimit a <= 3\n": "1 of 2 limits broken: a <= 1",
	} {
		s := load(t, "one", text)
		data, _ := s.write(t)
		f, err := excelize.OpenReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		cached, _ := f.GetCellValue("Sheet", "A2")
		if cached != want {
			t.Errorf("%q, want %q", cached, want)
		}
		if said, _ := s.r.Verdict(); !strings.HasPrefix(strings.ToLower(want), said) {
			t.Errorf("%q is not what is said elsewhere: %q", want, said)
		}
	}
}

// seenHaveValues checks that what people see has a cached value, for a reader that
// does not compute.
func seenHaveValues(t *testing.T, name string, g grid) {
	t.Helper()
	for _, tab := range g.tabs() {
		for _, ref := range g.places(tab) {
			if c := g[tab][ref]; c.formula != "" && !c.hidden && c.kind+c.value == "" {
				t.Errorf("%s: %s!%s has no cached value: %s", name, tab, ref, c.formula)
			}
		}
	}
}

// noisy returns a number's text if it is a short decimal number but for its last
// digits.
func noisy(text string) bool {
	v, err := strconv.ParseFloat(text, 64)
	digits := strings.TrimLeft(strings.ReplaceAll(strings.SplitN(strings.ToUpper(text), "E", 2)[0], ".", ""), "-0")
	if err != nil || len(digits) < 15 {
		return false
	}
	for k := 1; k <= 9; k++ {
		near, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', k, 64), 64)
		if math.Abs(near-v) <= 3e-14*math.Abs(v) {
			return true
		}
	}
	return false
}

// withoutNoise checks that no formula and no entry has a number such as
// 49.99999999999998, and returns the number of numbers in formulas.
func withoutNoise(t *testing.T, name string, g grid) (seen int) {
	t.Helper()
	for _, tab := range g.tabs() {
		for _, ref := range g.places(tab) {
			c := g[tab][ref]
			if c.formula == "" && c.kind == "" && noisy(c.value) {
				t.Errorf("%s: %s!%s holds %s", name, tab, ref, c.value)
			}
			for _, number := range numbersIn(c.formula) {
				if seen++; noisy(number) && number != c.formula { // a formula of constants is its result
					t.Errorf("%s: %s!%s has %s: %s", name, tab, ref, number, c.formula)
				}
			}
		}
	}
	return seen
}

// numbersIn returns the numbers of a formula.
func numbersIn(formula string) []string {
	var all []string
	for s := formula; s != ""; {
		n := tokenLength(s)
		if startsNumber(s) {
			all = append(all, s[:n])
		}
		s = s[n:]
	}
	return all
}
