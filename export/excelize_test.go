package export

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/xuri/excelize/v2"
)

// beyond are the ways in which the calculator of the library that writes the
// workbook departs from spreadsheets, each with the smallest formula that
// shows it: A1:A3 hold 10, 20, 30, B1 is
// #N/A, A9 is empty.
var beyond = []struct{ name, what, formula, spreadsheet, excelize string }{
	{"nested", "a call behind a sign, within the argument of another call, loses the operand before it", "EXP(A1/(1+ABS(A1)))", "2.482065084623019", "1"},
	{"nested", "as above, over a range, before another argument", "MAX(1+2*SUM(A1:A3),3)", "121", "formula not valid"},
	{"nested", "as above, in a condition", "IF(2>INDEX(A1:A3,3),5,6)", "6", "FALSE"},
	{"nested", "a call before a sign, as the second argument of a condition within another", "IF(IF(A1>=0,INDEX(A1:A3,2)>=0,FALSE),5,6)", "5", "6"},
	{"fault", "a fault within a call, or beside one, does not always come through", "ABS(B1)", "#N/A", "0"},
	{"fault", "as above, where one is asked for", `IFERROR(MAX(A1:B1),"none")`, "none", "10"},
	{"fault", "the logarithm of nought is a text", "LN(A1-A1)", "#NUM!", "-INF"},
	{"blank", "an empty cell, or what a formula left blank, is not always equal to nothing", `A9=""`, "TRUE", "FALSE"},
	{"array", "nothing is compared with every cell of a range", `MATCH(TRUE,EXACT(A1:A3,"20"),0)`, "2", "#N/A"},
}

// TestExcelizeDeparts holds every reason for leaving a cell out to its
// example: one that has been mended makes the list shorter.
func TestExcelizeDeparts(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	for i := range 3 {
		if err := f.SetCellInt("Sheet1", "A"+strconv.Itoa(i+1), int64(10*(i+1))); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellFormula("Sheet1", "B1", "NA()"); err != nil {
		t.Fatal(err)
	}
	for _, c := range beyond {
		if got := calculated(t, f, "Sheet1", c.formula); got != c.excelize || got == c.spreadsheet {
			t.Errorf("%s: %s is %s now, was %s; a spreadsheet says %s", c.name, c.formula, got, c.excelize, c.spreadsheet)
		}
	}
}

// calculated returns what the library makes of a formula on a tab.
func calculated(t *testing.T, f *excelize.File, tab, formula string) (value string) {
	t.Helper()
	const scratch = "ZZ5"
	if err := f.SetCellFormula(tab, scratch, formula); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if p := recover(); p != nil {
			value = fmt.Sprint("panic: ", p)
		}
	}()
	value, err := f.CalcCellValue(tab, scratch, excelize.Options{RawCellValue: true})
	if err != nil && value == "" {
		value = err.Error()
	}
	return value
}

// excelizeAgrees lets that library compute every formula of every workbook of
// one worksheet, or a sample in long tables, from the values of the cells it
// reads, as a third check beside two spreadsheets. It computes one formula at a
// time, because the library does not cache results. recomputed is the folder of
// the same workbooks computed by a spreadsheet, with the values of the steps,
// which our workbooks do not store. The cells that differ must be exactly those
// of the stored list, each with a reason.
func excelizeAgrees(t *testing.T, books map[string][]byte, recomputed string) {
	var mutex sync.Mutex
	lists, formulas := map[string][]string{}, 0
	t.Run("books", func(t *testing.T) {
		for _, name := range slices.Sorted(maps.Keys(books)) {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				other, err := os.ReadFile(filepath.Join(recomputed, name+".xlsx"))
				if err != nil {
					t.Fatal(err)
				}
				list, n := departures(t, books[name], readGrid(t, other))
				mutex.Lock()
				defer mutex.Unlock()
				lists[name], formulas = list, formulas+n
			})
		}
	})
	t.Logf("%d formulas were compared", formulas)
	if formulas < 20_000 {
		t.Errorf("only %d formulas were compared", formulas)
	}
	golden(t, "excelize.txt", departuresPage(lists))
}

// departuresPage lists every cell with another result, and why.
func departuresPage(lists map[string][]string) []byte {
	var page strings.Builder
	page.WriteString("# Formulas that the calculator of excelize does not compute as spreadsheets do: workbook, tab, cells, reason.\n")
	for _, c := range beyond {
		fmt.Fprintf(&page, "# %s: %s: %s is %s, not %s\n", c.name, c.what, c.formula, c.excelize, c.spreadsheet)
	}
	for _, name := range slices.Sorted(maps.Keys(lists)) {
		for _, line := range lists[name] {
			page.WriteString(name + " " + line + "\n")
		}
	}
	return []byte(page.String())
}

// departures returns the cells of a workbook that the library computes
// differently, and the number of formulas.
func departures(t *testing.T, data []byte, values grid) (list []string, formulas int) {
	t.Helper()
	ours := readGrid(t, data)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, tab := range ours.tabs() {
		for _, ref := range ours.places(tab) {
			if ours[tab][ref].formula != "" {
				setValue(t, f, tab, ref, values[tab][ref])
			}
		}
	}
	names := map[string]string{}
	for _, n := range f.GetDefinedName() {
		names[n.Name] = n.RefersTo
	}
	for _, tab := range ours.tabs() {
		var cells []departure
		for _, ref := range sampled(t, ours.places(tab)) {
			want := ours[tab][ref]
			if want.formula == "" {
				continue
			}
			formulas++
			if want.kind == "" && want.value == "" { // a step
				want.kind, want.value = values[tab][ref].kind, values[tab][ref].value
			}
			got := calculated(t, f, tab, want.formula)
			placed := want
			placed.formula = words.ReplaceAllStringFunc(want.formula, func(word string) string { return cmp.Or(names[word], word) })
			if other := (field{value: got}); sameAnswer(want, got) || cancelled(ours, tab, placed, other) || cancelled(values, tab, placed, other) {
				continue
			}
			why := reason(want, ours, values, tab)
			if why == "" {
				t.Errorf("%s!%s: %s %q, by excelize %q, for no known reason: %s", tab, ref, want.kind, want.value, got, want.formula)
			}
			cells = append(cells, departureAt(t, ref, why))
		}
		list = append(list, ranges(tab, cells)...)
	}
	return list, formulas
}

// sampled leaves out of a tab with more than 500 rows all below the twentieth
// but one in a hundred: the rows of a long table hold the same formulas, and the
// library takes minutes for all of them.
func sampled(t *testing.T, refs []string) []string {
	t.Helper()
	rows, longest := make([]int, len(refs)), 0
	for i, ref := range refs {
		_, row, err := excelize.CellNameToCoordinates(ref)
		if err != nil {
			t.Fatal(err)
		}
		rows[i], longest = row, max(longest, row)
	}
	if longest <= 500 {
		return refs
	}
	var kept []string
	for i, ref := range refs {
		if rows[i] <= 20 || rows[i]%100 == 0 {
			kept = append(kept, ref)
		}
	}
	return kept
}

// setValue puts a value in the place of a formula.
func setValue(t *testing.T, f *excelize.File, tab, ref string, v field) {
	t.Helper()
	x, notNumber := strconv.ParseFloat(v.value, 64)
	err := f.SetCellFormula(tab, ref, "")
	switch {
	case err != nil:
	case v.kind == "e":
		err = f.SetCellFormula(tab, ref, "NA()")
	case v.kind == "b":
		err = f.SetCellBool(tab, ref, v.value == "1")
	case v.kind == "s" || v.kind == "str" || v.kind == "inlineStr" || notNumber != nil:
		err = f.SetCellStr(tab, ref, v.value)
	default:
		err = f.SetCellFloat(tab, ref, x, -1, 64)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// sameAnswer holds what the library says to a value.
func sameAnswer(want field, got string) bool {
	switch got {
	case "TRUE":
		got = "1"
	case "FALSE":
		got = "0"
	}
	return sameField(want, field{kind: want.kind, value: got}) && (want.kind != "e" || strings.HasPrefix(got, "#"))
}

// reason says in which of its ways the library may have lost the formula of
// a cell; nothing if in none.
func reason(cell field, ours, values grid, tab string) string {
	switch {
	case cell.array || strings.Contains(cell.formula, "EXACT(") && strings.Contains(cell.formula, "MATCH(TRUE"):
		return "array"
	case cell.kind == "e" || cell.value == "" && strings.HasPrefix(cell.formula, "IFERROR("):
		return "fault"
	case strings.Contains(cell.formula, `=""`) && readsBlank(cell.formula, ours, values, tab):
		return "blank"
	case nested(cell.formula):
		return "nested"
	}
	return ""
}

var cellReference = regexp.MustCompile(`(?:(\w+)!)?\$?([A-Z]{1,3})\$?([0-9]+)\b`)

// words are names of cells, or what a formula has besides.
var words = regexp.MustCompile(`[A-Za-z_][A-Za-z0-9_.]*`)

// readsBlank reports whether a formula reads a cell with nothing in it.
func readsBlank(formula string, ours, values grid, tab string) bool {
	for _, m := range cellReference.FindAllStringSubmatch(formula, -1) {
		from, ref := cmp.Or(m[1], tab), m[2]+m[3]
		v := ours[from][ref]
		if v.formula != "" {
			v = values[from][ref]
		}
		if v.value == "" {
			return true
		}
	}
	return false
}

// nested reports whether, within the argument of a call, there is another
// beside a sign.
func nested(formula string) bool {
	calls, inside := []bool{}, 0 // whether each open bracket is a call's; how many are
	word := false
	sign := false
	for i := range len(formula) {
		c := formula[i]
		switch {
		case c == '(':
			if word && inside > 0 && sign {
				return true
			}
			calls = append(calls, word)
			if word {
				inside++
			}
		case c == ')' && len(calls) > 0:
			if calls[len(calls)-1] {
				inside--
			}
			calls = calls[:len(calls)-1]
			if inside > 0 && i+1 < len(formula) && strings.IndexByte("<>=", formula[i+1]) >= 0 {
				return true
			}
		case strings.IndexByte("+-*/^<>=", c) >= 0:
			sign = inside > 0
		case c == ',':
			sign = false
		}
		word = c >= 'A' && c <= 'Z'
	}
	return false
}

// departure is the place of a cell and the reason.
type departure struct {
	column, row int
	why         string
}

func departureAt(t *testing.T, ref, why string) departure {
	t.Helper()
	column, row, err := excelize.CellNameToCoordinates(ref)
	if err != nil {
		t.Fatal(err)
	}
	return departure{column, row, why}
}

// ranges writes cells down the columns of a tab; adjacent cells with the same
// reason are one range.
func ranges(tab string, cells []departure) []string {
	slices.SortFunc(cells, func(a, b departure) int {
		return cmp.Or(a.column-b.column, a.row-b.row)
	})
	var lines []string
	for len(cells) > 0 {
		n := 1
		for n < len(cells) && cells[n].column == cells[0].column && cells[n].row == cells[0].row+n && cells[n].why == cells[0].why {
			n++
		}
		place := at(cells[0].column, cells[0].row)
		if n > 1 {
			place += ":" + at(cells[0].column, cells[n-1].row)
		}
		lines = append(lines, fmt.Sprintf("%s %s %s", tab, place, cells[0].why))
		cells = cells[n:]
	}
	return lines
}
