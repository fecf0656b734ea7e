package export

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

var caseNames = flag.String("cases", "", "change only what matches this expression: sample-kind-level, as failures name it")

// level is one of the three values that a given is changed to: low, middle, high.
type level int

const low level = 0

func (l level) String() string { return [...]string{"low", "middle", "high"}[l] }

// kinds are those of givens; each is changed by itself, so that every formula is
// computed with its other operands as they are.
var kinds = []string{"number", "percent", "count", "truth", "choice", "text", "entry", "column"}

// change is one given with another value.
type change struct {
	setting sheet.Setting
	field   [4]string // number or text, tab, cell, value
}

// changedCase is a workbook in which the givens of one kind are changed.
type changedCase struct {
	sample
	what    string
	level   level
	changes []change
	after   *sheet.Result
	saved   bool // by the other program too, and read back
}

// name identifies the case.
func (c *changedCase) name() string { return fmt.Sprintf("%s-%s-%v", c.sample.name, c.what, c.level) }

// byChance reports whether the sheet is a generated one.
func (c *changedCase) byChance() bool { return strings.HasPrefix(c.sample.name, "chance-") }

// changedSheets returns the sheets whose givens are changed: the templates, those of
// testdata and generated ones. Without GEARLEAF_WORKBOOKS=all these are few, and none
// is large.
func changedSheets(t *testing.T) []sample {
	t.Helper()
	all := slices.Clone(samples(t))
	if !allWorkbooks() {
		return slices.DeleteFunc(all, func(s sample) bool {
			data, _ := s.workbook(t)
			return len(data) > largeBook
		})
	}
	for seed := uint64(9); seed <= 40 && *sampleNames == ""; seed++ {
		o := generate.Everything(seed, 60)
		o.Faults = seed%2 == 0
		all = append(all, load(t, "chance-"+strconv.Itoa(int(seed)), generate.Worksheet(o)))
	}
	return all
}

// largeBook is the size, in bytes, from which a workbook is left to the campaign.
const largeBook = 250_000

// allWorkbooks reports whether the whole campaign is requested.
func allWorkbooks() bool { return os.Getenv("GEARLEAF_WORKBOOKS") == "all" }

// changedCases returns, of every sheet, each kind of given at each of three
// levels. Without GEARLEAF_WORKBOOKS=all it returns one in sixteen of each kind, at
// one level after the other. To save takes another program longer than the rest: it
// saves the lowest level of each kind, and of a large sheet the first.
func changedCases(t *testing.T) []*changedCase {
	t.Helper()
	var cases []*changedCase
	seen := map[string]int{}
	only := regexp.MustCompile(*caseNames)
	for _, s := range changedSheets(t) {
		first := len(cases)
		for _, kind := range kinds {
			for l := range level(3) {
				changes := changesOf(t, s, kind, l)
				if len(changes) == 0 {
					continue
				}
				if seen[kind]++; !allWorkbooks() && seen[kind]%16 != 1 {
					continue
				}
				for _, c := range casesOf(t, s, kind, l, changes) {
					if only.MatchString(c.name()) {
						cases = append(cases, c)
					}
				}
			}
		}
		data, _ := s.workbook(t)
		for i, c := range cases[first:] {
			c.saved = i == 0 || len(data) < largeBook && c.level == low
		}
	}
	if len(seen) < len(kinds) && *sampleNames == "" {
		t.Fatalf("only these kinds of givens are changed: %v", seen)
	}
	return cases
}

// casesOf makes all changes of a kind. Where that puts so much at fault that
// little is left to compare, the givens are changed in two halves.
func casesOf(t *testing.T, s sample, kind string, l level, changes []change) []*changedCase {
	t.Helper()
	atFault := faults(s.r)
	var cases []*changedCase
	var split func(part []change, depth int)
	split = func(part []change, depth int) {
		c := &changedCase{sample: s, level: l, changes: part}
		c.compute(t)
		if added := faults(c.after) - atFault; added > 0.2 && depth < 4 && len(part) > 1 {
			split(part[:len(part)/2], depth+1)
			split(part[len(part)/2:], depth+1)
			return
		}
		c.what = kind + strconv.Itoa(len(cases)+1)
		cases = append(cases, c)
	}
	split(changes, 0)
	return cases
}

// compute computes what the changes lead to.
func (c *changedCase) compute(t *testing.T) {
	t.Helper()
	changed, err := c.s.Change(c.settings())
	if err != nil {
		t.Fatalf("%s: %v", c.sample.name, err)
	}
	c.after = changed.After
}

func (c *changedCase) settings() []sheet.Setting {
	var all []sheet.Setting
	for _, ch := range c.changes {
		all = append(all, ch.setting)
	}
	return all
}

// faults returns the share of values that are at fault.
func faults(r *sheet.Result) float64 {
	bad, all := 0, 0
	for _, c := range r.Sheet.Model.Cells {
		if all++; r.Cell(c).IsFault() {
			bad++
		}
	}
	for _, c := range r.Sheet.Model.Columns {
		if all++; r.Entry(c, 0).IsFault() {
			bad++
		}
	}
	return float64(bad) / float64(all)
}

// changesOf lists the givens of a kind with another value each. The entries of a
// column are changed by themselves, one in the middle of it, or all of them.
func changesOf(t *testing.T, s sample, kind string, l level) []change {
	t.Helper()
	b, refs := layoutOf(t, s)
	var changes []change
	add := func(name, ref string, row int, q *check.Quantity, v float64) {
		tab, cell, ok := split(refs[ref], row)
		if !ok {
			t.Fatalf("%s: no field for %s", s.name, name)
		}
		if c, ok := changeOf(t, s, name, q, v, l); ok {
			c.field[1], c.field[2] = tab, cell
			changes = append(changes, c)
		}
	}
	for i, g := range s.s.Model.Cells {
		if g.Given && !g.Plugged && kindOfGiven(&g.Quantity) == kind {
			add(g.Name, b.cells[i].name, 0, &g.Quantity, g.Value)
		}
	}
	for _, plan := range b.tables {
		if kind != "entry" && kind != "column" || plan.t.Library || plan.t.From != "" {
			continue
		}
		for i, g := range plan.t.Columns {
			if !g.Given || ticked(s.s.Model, g) {
				continue
			}
			for row, v := range g.Values {
				if kind == "entry" && row != len(g.Values)/2 {
					continue
				}
				add(fmt.Sprintf("%s.%s[%d]", plan.t.Name, g.Name, row+1), plan.names[plan.column(i)], row, &g.Quantity, v)
			}
		}
	}
	return changes
}

// layouts keeps where the fields of every sample are.
var layouts = map[string]layoutOfBook{}

type layoutOfBook struct {
	b    *book
	refs map[string]string // what the names of its workbook refer to
}

// layoutOf returns the layout of a sample's workbook.
func layoutOf(t *testing.T, s sample) (*book, map[string]string) {
	t.Helper()
	o, known := layouts[s.name]
	if !known {
		data, _ := s.workbook(t)
		read, err := readBook(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		o = layoutOfBook{newBook(s.s, s.r), read.refs}
		layouts[s.name] = o
	}
	return o.b, o.refs
}

// kindOfGiven returns the kind of a scalar.
func kindOfGiven(q *check.Quantity) string {
	switch {
	case len(q.Choice) > 0:
		return "choice"
	case q.Type.Form == check.Truth:
		return "truth"
	case q.Type.Form == check.Text:
		return "text"
	case isPercent(q.Unit):
		return "percent"
	case q.Whole:
		return "count"
	}
	return "number"
}

// changeOf returns a given with another value; false if the value is the same.
func changeOf(t *testing.T, s sample, name string, q *check.Quantity, v float64, l level) (change, bool) {
	t.Helper()
	typed, said, value := "number", "", ""
	switch {
	case len(q.Choice) > 0:
		value = choiceText(s.s.Model, q, q.Choice[[]int{0, len(q.Choice) / 2, len(q.Choice) - 1}[l]])
		if q.Type.Form != check.Number {
			typed = "text"
		}
	case q.Type.Form == check.Truth:
		typed, value = "text", yesNo([]float64{0, 1 - v, 1}[l])
	case v != v:
		return change{}, false // blank
	case q.Type.Form == check.Text:
		typed, value = "text", []string{"a", `Zoë "Q" & <b>, =1+1`, strings.Repeat("long ", 40) + "text"}[l]
	default:
		value = otherNumber(q, v, l)
	}
	said = value
	if typed == "text" && q.Type.Form == check.Text {
		said = syntax.Quote(value)
	}
	set, d := s.s.ParseSetting(name + "=" + said)
	if d != nil {
		t.Fatalf("%s: %s=%s: %s", s.name, name, said, d.Message)
	}
	if set.Value == v {
		return change{}, false
	}
	if x, err := strconv.ParseFloat(strings.TrimSuffix(value, "%"), 64); err == nil && isPercent(q.Unit) {
		value = strconv.FormatFloat(trimmed(x/100), 'g', -1, 64)
	}
	return change{setting: set, field: [4]string{typed, "", "", value}}, true
}

// otherNumber returns another number in the shown unit: the ends of the range and
// a value between them; without a range, half of the number, a sixth more, and
// twice as much. A point on a scale of temperature moves by some degrees.
func otherNumber(q *check.Quantity, v float64, l level) string {
	u := shownUnit(q.Unit)
	x := u.Clean(v)
	switch {
	case q.Range != nil:
		a, b := u.Clean(q.Range[0]), u.Clean(q.Range[1])
		lo, hi := min(a, b), max(a, b)
		x = []float64{lo, lo + 0.61*(hi-lo), hi}[l]
	case u.Offset != 0 && u.Measure.Kind == unit.Absolute:
		x += []float64{-25, 4.5, 30}[l]
	case x == 0:
		x = []float64{1, 0.5, 2}[l]
	default:
		x *= []float64{0.5, 1.17, 2}[l]
	}
	if q.Whole {
		return strconv.FormatFloat(float64(int64(x+0.5)), 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 7, 64)
}
