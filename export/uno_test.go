package export

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/outside"
)

// changeInOffice changes fields as a person would, lets everything follow, saves,
// and puts the fields back. A line of its input is `open in.xlsx`, `number tab
// place value`, `text tab place value`, or `save out.xlsx`, with tabs in between.
const changeInOffice = `
from com.sun.star.table.CellContentType import TEXT
book, undo = None, []
def put(cell, kind, value):
    if kind == "number":
        cell.Value = float(value)
    else:
        cell.String = value
for line in sys.stdin:
    words = line.rstrip("\n").split("\t")
    if words[0] == "open":
        if book:
            book.close(True)
        book = load(words[1], prop("Hidden", True))
    elif words[0] == "save":
        book.calculateAll()
        book.storeToURL("file://" + words[1], (prop("FilterName", "Calc MS Excel 2007 XML"),))
        for cell, kind, value in undo:
            put(cell, kind, value)
        undo = []
    else:
        cell = book.Sheets.getByName(words[1]).getCellRangeByName(words[2])
        if cell.Type == TEXT:
            undo.append((cell, "text", cell.String))
        else:
            undo.append((cell, "number", cell.Value))
        put(cell, words[0], words[3])
`

// unoPython returns a python3 that can steer LibreOffice.
func unoPython(t *testing.T) string {
	t.Helper()
	for _, p := range []string{"/usr/bin/python3", "python3", "/usr/lib/libreoffice/program/python"} {
		if exec.Command(p, "-c", "import uno").Run() == nil {
			return p
		}
	}
	outside.Missing(t, "no python3 with uno: nothing was changed in LibreOffice")
	return ""
}

// TestChangedInLibreOffice changes givens of every kind in LibreOffice, in two
// locales, and saves. What it has computed then must be what we compute, faults and
// broken limits included, and what is read back exactly what was changed. The
// workbooks that it opens hold no cached value.
func TestChangedInLibreOffice(t *testing.T) {
	tool(t, "soffice")
	for i, locale := range []string{"en-US", "de-DE"} {
		t.Run(locale, func(t *testing.T) {
			changedInOffice(t, locale, changedCases(t, t.TempDir(), i))
		})
	}
}

// changedInOffice makes the changes of all cases in one session, and checks them.
func changedInOffice(t *testing.T, locale string, cases []*changedCase) {
	t.Helper()
	var script strings.Builder
	last := ""
	for _, c := range cases {
		in := filepath.Join(filepath.Dir(c.out), c.sample.name+".xlsx")
		if in != last {
			data, _ := c.workbook(t)
			if err := os.WriteFile(in, spoiled(t, data), 0o644); err != nil {
				t.Fatal(err)
			}
			fmt.Fprintf(&script, "open\t%s\n", in)
			last = in
		}
		for _, change := range c.changes {
			fmt.Fprintln(&script, strings.Join(change.field[:], "\t"))
		}
		fmt.Fprintf(&script, "save\t%s\n", c.out)
	}
	inOffice(t, locale, indented(changeInOffice), script.String())
	checkAll(t, locale, cases)
}

// TestChangedInGnumeric does so in gnumeric, which no other program can operate:
// the fields are changed in the file.
func TestChangedInGnumeric(t *testing.T) {
	ssconvert := tool(t, "ssconvert")
	dir := t.TempDir()
	cases := slices.DeleteFunc(changedCases(t, dir, 2), func(c *changedCase) bool {
		// gnumeric computes with longer numbers: where we overflow it has a value,
		// and 0.1 + 0.2 is 0.3 there.
		return c.sample.name == "signs" || strings.HasPrefix(c.sample.name, "chance-") && tooLarge(c.after)
	})
	for _, c := range cases {
		data, _ := c.workbook(t)
		f, err := excelize.OpenReader(bytes.NewReader(spoiled(t, data)))
		if err != nil {
			t.Fatal(err)
		}
		for _, change := range c.changes {
			kind, tab, cell, value := change.field[0], change.field[1], change.field[2], change.field[3]
			set := f.SetCellStr(tab, cell, value)
			if v, err := strconv.ParseFloat(value, 64); kind == "number" && err == nil {
				set = f.SetCellFloat(tab, cell, v, -1, 64)
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
			t.Fatalf("%s: %v\n%s", c.name(), err, msg)
		}
	}
	checkAll(t, "gnumeric", cases)
}

// checkAll compares every case and logs how much was compared.
func checkAll(t *testing.T, where string, cases []*changedCase) {
	t.Helper()
	compared, atFault, broken, sheets := 0, 0, 0, map[string]bool{}
	for _, c := range cases {
		compared += c.check(t, where)
		sheets[c.sample.name] = true
		if faults(c.after) > faults(c.r) {
			atFault++
		}
		for _, l := range c.s.Model.Limits {
			if state, _ := c.after.Limit(l); state == sheet.Broken {
				broken++
				break
			}
		}
		_ = os.Remove(c.out)
	}
	t.Logf("%s: %d cases of %d sheets, %d with new faults, %d with broken limits: %d cells compared", where, len(cases), len(sheets), atFault, broken, compared)
}

// check compares what another program saved with what we compute, and reads it
// back. It returns how many cells were compared.
func (c *changedCase) check(t *testing.T, where string) int {
	t.Helper()
	name := where + " " + c.name()
	back, list, err := OpenReturned(c.out, c.s)
	if err != nil || back == nil {
		t.Errorf("%s: %v %v", name, err, list)
		return 0
	}
	if len(back.Problems)+len(back.Notes) > 0 {
		t.Errorf("%s: taken for changed: %q %q", name, back.Problems, back.Notes)
	}
	for _, e := range back.Entries {
		if e.Asked { // a hundred times the old value, or a hundredth
			if err := back.Accept([]string{e.Place.Name()}); err != nil {
				t.Error(err)
			}
		}
	}
	c.checkSettings(t, name, back)
	var ours bytes.Buffer
	after := *c.s
	after.Settings = nil
	after.Set(c.settings()...)
	if _, err := writeWorkbook(&ours, &after, c.after, Options{}); err != nil {
		t.Fatal(err)
	}
	// The digits that distinguish the sides of a limit, in that column, are those
	// of the values when the workbook was written, and so is a fault's cause.
	without := []string{"Limits!$K$", "When written"}
	if where == "gnumeric" && strings.HasPrefix(c.sample.name, "chance-") {
		// Its longer numbers decide between rows that are equal but for rounding.
		without = append(without, "MATCH(MIN(", `"row "&$N`)
	}
	return compareBooks(t, name, ours.Bytes(), c.out, without...)
}

// checkSettings compares what is read back with what was changed.
func (c *changedCase) checkSettings(t *testing.T, name string, back *Returned) {
	t.Helper()
	m, err := back.Merge(c.s)
	if err != nil || len(m.Conflicts)+len(m.Refused)+len(m.Already) > 0 || m.TextChanged {
		t.Errorf("%s: %+v %v", name, m, err)
		return
	}
	got := map[string]float64{}
	for _, set := range m.Settings {
		got[set.Name()] = set.Value
	}
	for _, set := range c.settings() {
		if w, ok := got[set.Name()]; !ok || !agree(set.Value, w, 1e-14) {
			t.Errorf("%s: %s is %v, read back %v (%t)", name, set.Name(), set.Value, w, ok)
		}
	}
	if len(got) != len(c.changes) {
		t.Errorf("%s: %d changes were made, %d read back: %v", name, len(c.changes), len(got), got)
	}
}
