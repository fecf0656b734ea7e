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

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// changeInOffice starts LibreOffice, and in each workbook named on standard
// input changes fields as a person would, lets everything follow, and saves:
// a line is `open in.xlsx`, `set tab place value`, or `save out.xlsx`, parted
// by tabs.
const changeInOffice = `
import subprocess, sys, time, uno
from com.sun.star.beans import PropertyValue
def prop(name, value):
    p = PropertyValue()
    p.Name, p.Value = name, value
    return p
office, profile = sys.argv[1:3]
child = subprocess.Popen([office, "--headless", "--norestore", "--nologo", "-env:UserInstallation=file://" + profile,
    "--accept=pipe,name=gearleaf%s;urp;" % sys.argv[3]])
try:
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    context = None
    for _ in range(600):
        try:
            context = resolver.resolve("uno:pipe,name=gearleaf%s;urp;StarOffice.ComponentContext" % sys.argv[3])
            break
        except Exception:
            if child.poll() is not None and child.returncode not in (0, 81):
                raise
            time.sleep(0.1)
    desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
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
    try:
        desktop.terminate()
    except Exception:
        pass
    child.wait(30)
finally:
    if child.poll() is None:
        child.kill()
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
	out      string
}

// TestChangedInLibreOffice changes entries in LibreOffice, by chance but
// within what is allowed, and saves. What it has computed then must be what
// we compute, and what is read back exactly what was changed.
func TestChangedInLibreOffice(t *testing.T) {
	soffice, python := tool(t, "soffice"), unoPython(t)
	dir := t.TempDir()
	var script strings.Builder
	var cases []officeCase
	for _, s := range samples(t) {
		seeds := map[string]uint64{"template-sprocket-change": 4, "template-fuel-per-pass": 4, "template-quarter-mile": 2}[s.name]
		if seeds == 0 {
			continue
		}
		in := filepath.Join(dir, s.name+".xlsx")
		data, _ := s.workbook(t)
		if err := os.WriteFile(in, data, 0o644); err != nil {
			t.Fatal(err)
		}
		for seed := range seeds {
			c := officeCase{sample: s, out: filepath.Join(dir, fmt.Sprintf("%s-%d.xlsx", s.name, seed))}
			fmt.Fprintf(&script, "open\t%s\n", in)
			c.settings = chanceChanges(t, s, seed, &script)
			fmt.Fprintf(&script, "save\t%s\n", c.out)
			cases = append(cases, c)
		}
	}
	cmd := exec.Command(python, "-c", changeInOffice, soffice, filepath.Join(dir, "profile"), strconv.Itoa(os.Getpid()))
	cmd.Stdin = strings.NewReader(script.String())
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if len(cases) != 10 {
		t.Fatalf("%d workbooks were changed", len(cases))
	}
	for _, c := range cases {
		c.check(t)
	}
}

// chanceChanges draws some changes and writes them for the office.
func chanceChanges(t *testing.T, s sample, seed uint64, script *strings.Builder) []sheet.Setting {
	t.Helper()
	draw := rand.New(rand.NewPCG(seed, 7))
	b := newBook(s.s, s.r)
	var out []sheet.Setting
	for _, i := range draw.Perm(len(s.s.Model.Cells)) {
		c := s.s.Model.Cells[i]
		if !c.Given || c.Plugged || b.cells[i].row == 0 || len(out) >= 4 {
			continue
		}
		out = append(out, chanceChange(t, s, draw, script, c.Name, &c.Quantity, c.Value, b.cells[i].leaf.name, at(valueColumn, b.cells[i].row))...)
	}
	for _, plan := range b.tables {
		for i, c := range plan.t.Columns {
			if c.Given && !plan.t.Library && plan.t.From == "" && len(c.Values) > 0 {
				row := draw.IntN(len(c.Values))
				out = append(out, chanceChange(t, s, draw, script, fmt.Sprintf("%s.%s[%d]", plan.t.Name, c.Name, row+1),
					&c.Quantity, c.Values[row], plan.tab, at(plan.column(i), plan.first+row))...)
				break
			}
		}
	}
	if len(out) < 3 {
		t.Fatalf("%s: only %d changes", s.name, len(out))
	}
	return out
}

// chanceChange draws another value for one given; none where there is none.
func chanceChange(t *testing.T, s sample, draw *rand.Rand, script *strings.Builder, name string, q *check.Quantity, v float64, tab, cell string) []sheet.Setting {
	t.Helper()
	kind, value := "number", ""
	switch {
	case len(q.Choice) > 0:
		other := q.Choice[draw.IntN(len(q.Choice))]
		if other == v {
			return nil
		}
		value = choiceText(s.s.Model, q, other)
		if q.Type.Form != check.Number {
			kind = "text"
		}
	case q.Type.Form == check.Truth:
		kind, value = "text", yesNo(1-v)
	case q.Type.Form == check.Text || v != v:
		return nil
	default:
		value = chanceNumber(draw, q, v)
	}
	set, d := s.s.ParseSetting(name + "=" + value)
	if d != nil {
		t.Fatalf("%s: %s=%s: %s", s.name, name, value, d.Message)
	}
	if set.Value == v {
		return nil
	}
	if x, err := strconv.ParseFloat(value, 64); err == nil && isPercent(q.Unit) {
		value = strconv.FormatFloat(x/100, 'g', -1, 64)
	}
	fmt.Fprintf(script, "%s\t%s\t%s\t%s\n", kind, tab, cell, value)
	return []sheet.Setting{set}
}

// chanceNumber draws a number near the one that is there, within its range.
func chanceNumber(draw *rand.Rand, q *check.Quantity, v float64) string {
	u := shownUnit(q.Unit)
	lo, hi := u.Clean(v)*0.97, u.Clean(v)*1.03
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
	back, list, err := OpenReturned(c.out, nil)
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
	compareBooks(t, name, ours.Bytes(), c.out)
}
