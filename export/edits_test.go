package export

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
)

// editedText has a given of every kind, an invented one; its tables are too
// long for the lines of the sheet.
const editedText = `title "Edited"
section "Air"
humidity   : 58 %     range 5..100           "Relative humidity"
duty       : 85.5 %                          "Duty"
share      : 10 vol%  choice 5, 10, 12.5     "Share of the blend"
outside    : 86.3 degF                       "Outside air"
charge     : 56.00 degC                      "Charge"
barometer  : 29.92 inHg                      "Barometer"
boost      : 14 psig                         "Boost"
manifold   : 35.70 psia                      "Manifold"
lambda     : 0.74     range 0.6..1.05        "Lambda"
section "Drive"
rear       : 41 teeth choice 38, 41, 44      "Rear sprocket"
front      : 17 teeth range 15..19           "Front sprocket"
rollout    : 2085 mm  range 1900..2300       "Rear tyre, one turn"
mass       : 340 kg                          "With rider"
spare      : 2                               "Spare plugs"
fuel       : "methanol" choice "methanol", "gasoline"
rider      : "A. Rider"                      "Who rides"
wet        : no                              "Track is wet"
final      = rear / front                    to 0.001
dry        = not wet
flow_at    = lookup(final * 1 s, curve.speed, curve.flow)
limit final <= 3 "the chain's side"

table gears
  ratio   : 2.50, 1.90, 1.50, 1.40, 1.30, 1.25, 1.20, 1.15, 1.12, 1.10, 1.08, 1.06, 1.05
  name    : "first", "second", "third", "4th", "5th", "6th", "7th", "8th", "9th", "10th", "11th", "12th", "13th"
  slip    : 4, 3.5, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3 %
  used    : yes, yes, no, yes, yes, yes, yes, yes, yes, yes, yes, yes, yes
  overall = ratio * final                    to 0.01

table curve
  speed : 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13 s
  flow  : 10, 20, 40, 41, 42, 43, 44, 45, 46, 47, 48, 49, 50 mm

chart "Flow" x curve.speed y curve.flow
`

// edited is a workbook in a test's hands.
type edited struct {
	t *testing.T
	f *excelize.File
	b *book
}

// place returns the tab and the cell of a given, or of a column's row.
func (e *edited) place(name string) (tab, cell string) {
	e.t.Helper()
	row := 0
	if base, rest, ok := strings.Cut(name, "["); ok {
		if _, err := fmt.Sscanf(rest, "%d]", &row); err != nil {
			e.t.Fatal(err)
		}
		name, row = strings.Replace(base, ".", "_", 1), row-1
	}
	for _, n := range e.f.GetDefinedName() {
		if n.Name == name {
			tab, cell, _ = split(n.RefersTo, row)
			return tab, cell
		}
	}
	e.t.Fatalf("nothing is called %s", name)
	return "", ""
}

func (e *edited) set(name string, v any) {
	e.t.Helper()
	tab, cell := e.place(name)
	e.must(e.f.SetCellValue(tab, cell, v))
}

// beside returns the cell so many columns and rows from that of a given.
func (e *edited) beside(name string, columns, rows int) (tab, cell string) {
	tab, cell = e.place(name)
	s, _ := spotOf(cell)
	return tab, cellAt(spot{s.column + columns, s.row + rows})
}

func (e *edited) write(name string, columns, rows int, v any) {
	e.t.Helper()
	tab, cell := e.beside(name, columns, rows)
	e.must(e.f.SetCellValue(tab, cell, v))
}

// style gives the cell of a given another number format.
func (e *edited) style(name, format string) {
	e.t.Helper()
	tab, cell := e.place(name)
	id, err := e.f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	e.must(err)
	e.must(e.f.SetCellStyle(tab, cell, cell, id))
}

func (e *edited) formula(name, text string) {
	e.t.Helper()
	tab, cell := e.place(name)
	e.must(e.f.SetCellFormula(tab, cell, text))
}

func (e *edited) must(err error) {
	e.t.Helper()
	if err != nil {
		e.t.Fatal(err)
	}
}

// edit is what somebody does to a workbook, and what reading it says: the
// settings, each `name=value`; the refusals; the notes; the problems, with which
// nothing is read.
type edit struct {
	what                        string
	do                          func(e *edited)
	set, refused, note, problem string
	// file is what is done to the file afterwards.
	file func([]byte) []byte
}

// set returns an edit that enters one value.
func entered(name string, v any, want string) edit {
	return edit{what: fmt.Sprintf("%s: %v", name, v), do: func(e *edited) { e.set(name, v) }, set: want}
}

func refusedEntry(name string, v any, want string) edit {
	return edit{what: fmt.Sprintf("%s: %v", name, v), do: func(e *edited) { e.set(name, v) }, refused: want}
}

// edits are those that a test can make by itself.
func edits(t *testing.T) []edit {
	return slices.Concat(valueEdits(), textEdits(), structureEdits(), peopleEdits(t), fileEdits(t))
}

// valueEdits enter numbers, as people and programs do.
func valueEdits() []edit {
	number := func(name string, v any, format, refused string) edit {
		return edit{what: name + " in the format " + format, do: func(e *edited) { e.set(name, v); e.style(name, format) }, refused: refused}
	}
	return []edit{
		{what: "nothing", do: func(*edited) {}},
		entered("humidity", 0.6, "humidity=60 %"),
		entered("humidity", 0.575, "humidity=57.5 %"),
		entered("humidity", 0.05, "humidity=5 %"),
		entered("humidity", 0.04, "humidity=4 %"), // outside its range: an advice
		refusedEntry("humidity", 58, "humidity holds 5800 % after 58 %: 5800 % or 58 %?"),
		refusedEntry("humidity", 70, "7000 % or 70 %? Correct the cell, or take 7000 % by --accept humidity"),
		refusedEntry("humidity", 0.0058, "0.58 % or 58 %?"),
		refusedEntry("duty", 5, "duty holds 500 % after 85.5 %: 500 % or 5 %?"),
		refusedEntry("duty", 0.006, "0.6 % or 60 %?"),
		entered("duty", 1.1, "duty=110 %"),
		number("humidity", 0.6, "0.00", "the cell has lost its percent format, and holds 0.6: 60 % or 0.6 %?"),
		entered("share", 0.125, "share=12.5 vol%"),
		refusedEntry("share", 0.07, "share"),
		entered("outside", 75, "outside=75 degF"),
		entered("rear", 44, "rear=44 teeth"),
		refusedEntry("rear", 39, "rear"),
		refusedEntry("front", 16.5, "front"),
		entered("front", 20, "front=20 teeth"), // outside its range: an advice
		entered("rollout", 1990, "rollout=1990 mm"),
		refusedEntry("rollout", 20.85, "rollout holds 20.85 mm after 2085 mm: 20.85 mm or 2085 mm?"),
		refusedEntry("lambda", 10.9, "lambda holds 10.9 after 0.74: 10.9 or 0.74?"),
		entered("lambda", 1.1, "lambda=1.1"),
		refusedEntry("rollout", 208500, "208500 mm or 2085 mm?"),
		refusedEntry("rollout", 1e30, "far from the 2085 mm it was"),
		refusedEntry("mass", 4e9, "far from the 340 kg it was"),
		number("rollout", 46143, "yyyy-mm-dd", "rollout holds a date, 2026-05-01; a number of mm from 1900 to 2300 was expected"),
		number("spare", 0.25, "[h]:mm", "spare holds a time, 06:00:00"),
		number("spare", 46143, "d. mmm", "spare holds a date, 2026-05-01"),
		number("spare", 44, "[mm]:ss", "spare holds a duration, 1056:00:00; a number was expected"),
		number("spare", 1.5, "h:mm", "spare holds a duration, 36:00:00"),
		refusedEntry("spare", 1e-30, "spare holds 1e-30 after 2: 1e-30 or 2?"),
		refusedEntry("mass", 1e-5, "mass holds 0.00001 kg after 340 kg: 0.00001 kg or 340 kg?"),
		refusedEntry("outside", 30, "outside holds 30 degF after 86.3 degF: 30 degF or 30 degC? Correct the cell, or take 30 degF by --accept outside"),
		refusedEntry("charge", 130, "charge holds 130 degC after 56.00 degC: 130 degC or 130 degF?"),
		refusedEntry("charge", 5600, "5600 degC or 56.00 degC?"),
		entered("charge", 95, "charge=95 degC"),
		{what: "a number as the text it was", do: func(e *edited) { e.set("charge", "56.0") }, note: `charge is the text "56.0", not a number: read as the 56.00 degC it was`},
		{what: "a quantity as the text it was", do: func(e *edited) { e.set("charge", "56 degC") }, note: `charge is the text "56 degC"`},
		refusedEntry("boost", 28.7, "boost holds 28.7 psig after 14 psig: 28.7 psig or 28.7 psia?"),
		entered("boost", 28, "boost=28 psig"),
		entered("boost", "28.7 psig", "boost=28.7 psig"),
		refusedEntry("barometer", 0, "barometer holds 0 inHg after 29.92 inHg: 0 inHg or 0 psig?"),
		refusedEntry("barometer", 299.2, "299.2 inHg or 29.92 inHg?"),
		refusedEntry("barometer", 46085, "barometer holds 46085 inHg after 29.92 inHg: 46085 inHg or a date, 2026-03-04?"),
		refusedEntry("spare", 46085, "46085 or a date, 2026-03-04?"),
		refusedEntry("gears.ratio[2]", 46141, "or a date, 2026-04-29?"),
		refusedEntry("barometer", 1013, "1013 inHg or 1013 hPa?"),
		refusedEntry("manifold", 21, "manifold holds 21 psia after 35.70 psia: 21 psia or 21 psig?"),
		refusedEntry("rollout", 208.5, "208.5 mm or 2085 mm?"),
		refusedEntry("rollout", 82, "rollout holds 82 mm after 2085 mm: 82 mm or 82 in?"),
		entered("rollout", "82 mm", "rollout=82 mm"),
		number("mass", 3.5, "0.0%", "mass holds a percentage, 350 %; a number of kg was expected"),
		{what: "a share in percent where a plain number is", do: func(e *edited) { e.set("spare", 1.5); e.style("spare", "0%") }, set: "spare=1.5"},
		entered("gears.ratio[2]", 1.85, "gears.ratio[2]=1.85"),
		entered("gears.slip[1]", 0.045, "gears.slip[1]=4.5 %"),
		refusedEntry("gears.slip[1]", 4.5, "450 % or 4.5 %?"),
	}
}

// textEdits enter texts, logical values and invalid values.
func textEdits() []edit {
	return []edit{
		entered("humidity", "61 %", "humidity=61 %"),
		entered("humidity", "61%%", "humidity=61 %"), // typed beside the format's own
		entered("humidity", "61", "humidity=61 %"),
		entered("rollout", "1990 mm", "rollout=1990 mm"),
		entered("rollout", " 1990 ", "rollout=1990 mm"),
		entered("rollout", "78.5 in", "rollout=78.5 in"),
		refusedEntry("rollout", "1990 kg", `rollout holds the text "1990 kg"; a number of mm from 1900 to 2300 was expected`),
		refusedEntry("rollout", "about 2 m", `rollout holds the text "about 2 m"`),
		refusedEntry("rollout", "1,990", `rollout holds the text "1,990"`),
		refusedEntry("rollout", "", "rollout is empty; it needs a value"),
		refusedEntry("rollout", nil, "rollout is empty; it needs a value"),
		refusedEntry("front", "sixteen", `a whole number of teeth from 15 to 19 was expected`),
		entered("fuel", "gasoline", `fuel="gasoline"`),
		refusedEntry("fuel", "diesel", "fuel"),
		entered("rider", `B. "Bee" Other`, `rider="B. ""Bee"" Other"`),
		entered("wet", "yes", "wet=yes"),
		entered("wet", "YES", "wet=yes"),
		entered("wet", true, "wet=yes"),
		entered("wet", 1, "wet=yes"),
		entered("wet", false, ""),
		refusedEntry("wet", "ja", "wet"),
		refusedEntry("wet", 2, "wet"),
		entered("gears.used[3]", "yes", "gears.used[3]=yes"),
		entered("gears.name[2]", "2nd", `gears.name[2]="2nd"`),
		refusedEntry("gears.ratio[1]", nil, "gears.ratio[1] is empty"),
		{what: "a formula in a field", do: func(e *edited) { e.set("rollout", 1985); e.formula("rollout", "1990-5") }, set: "rollout=1985 mm"},
		{what: "a formula without its value", do: func(e *edited) { e.set("rollout", nil); e.formula("rollout", "1990-5") }, refused: "rollout holds a formula without its value"},
	}
}

// structureEdits change a workbook besides its values.
func structureEdits() []edit {
	changed := func(e *edited) { e.set("rear", 44) }
	with := func(what string, do func(e *edited), note, problem string) edit {
		out := edit{what: what, do: func(e *edited) { changed(e); do(e) }, note: note, problem: problem}
		if problem == "" {
			out.set = "rear=44 teeth"
		}
		return out
	}
	rename := func(from, to string) func(e *edited) {
		return func(e *edited) { e.must(e.f.SetSheetName(from, to)) }
	}
	remove := func(tab string) func(e *edited) { return func(e *edited) { e.must(e.f.DeleteSheet(tab)) } }
	own := func(e *edited) {
		_, err := e.f.NewSheet("Notes")
		e.must(err)
		e.must(e.f.SetCellStr("Notes", "A1", "mine"))
	}
	return []edit{
		with("an own tab", own, "the tab Notes is not of this worksheet: ignored", ""),
		with("an own tab in front", func(e *edited) { own(e); e.must(e.f.MoveSheet("Notes", "Sheet")) }, "the tab Notes is not of this worksheet", ""),
		with("an own tab with formulas", func(e *edited) { own(e); e.must(e.f.SetCellFormula("Notes", "A2", "final*2")) }, "the tab Notes", ""),
		with("tabs in another order", func(e *edited) { e.must(e.f.MoveSheet("gears", "Sheet")) }, "the tabs were put into another order", ""),
		with("a tab copied", func(e *edited) {
			n, err := e.f.NewSheet("Sheet (2)")
			e.must(err)
			from, err := e.f.GetSheetIndex("Sheet")
			e.must(err)
			e.must(e.f.CopySheet(from, n))
		}, "the tab Sheet (2) is a copy of Sheet: ignored", ""),
		with("a tab renamed", rename("gears", "Box 1"), "the tab gears was renamed to Box 1", ""),
		with("the first tab renamed", rename("Sheet", "Saturday"), "the tab Sheet was renamed to Saturday", ""),
		with("two tabs swap their names", func(e *edited) {
			rename("gears", "x")(e)
			rename("curve", "gears")(e)
			rename("x", "curve")(e)
		}, "the tab gears was renamed to curve", ""),
		with("the charts deleted", remove("Charts"), "the tab Charts was deleted", ""),
		with("the explanation deleted", remove(workedTab), "the tab How it is worked out was deleted", ""),
		with("the steps deleted", remove("Steps"), "the tab Steps was deleted", ""),
		with("a table deleted", remove("gears"), "", "the tab gears was deleted, and with it its entries"),
		with("the hidden tab deleted", remove(sourceTab), "", "hidden tab"),
		with("a formula changed", func(e *edited) { e.formula("final", "rear/front+1") }, "", "the formula was changed to =rear/front+1"),
		with("a formula replaced", func(e *edited) { e.set("final", 2.5) }, "", "the formula was replaced by 2.5"),
		with("a formula deleted", func(e *edited) { e.set("final", nil) }, "", "the formula was deleted"),
		with("a column's formula changed", func(e *edited) { e.formula("gears.overall[2]", "1+1") }, "", "the formula was changed to =1+1"),
		with("an own formula", func(e *edited) { e.must(e.f.SetCellFormula("Sheet", "K3", "final*2")) }, "Sheet!K3 holds a formula that the worksheet does not have: ignored", ""),
		with("own numbers beside", func(e *edited) { e.must(e.f.SetCellValue("Sheet", "K3", 17)) }, "", ""),
		with("a unit changed", func(e *edited) { e.write("rollout", 1, 0, "in") }, "", "the unit of rollout was changed from mm to in"),
		with("a unit deleted", func(e *edited) { e.write("mass", 1, 0, nil) }, "", "the unit of mass was changed from kg to nothing"),
		with("a unit put beside a percentage", func(e *edited) { e.write("humidity", 1, 0, "g/kg") }, "", "the unit of humidity was changed from % to g/kg"),
		with("units replaced", func(e *edited) {
			e.write("rollout", 1, 0, "in")
			e.write("boost", 1, 0, "bar")
			e.write("manifold", 1, 0, "bar")
		}, "", "the units of boost and 2 more were changed from psig to bar: put it back"),
		with("a column's unit changed", func(e *edited) { e.write("curve.flow[1]", 0, -1, "in") }, "", "the unit of curve.flow was changed from mm to in"),
		with("a unit typed beside a given without one", func(e *edited) { e.write("spare", 1, 0, "mm") }, "", "spare has no unit, and the cell holds mm: empty it"),
		with("a unit typed above a column without one", func(e *edited) { e.write("gears.ratio[1]", 0, -1, "mm") }, "", "gears!B5: gears.ratio has no unit, and the cell holds mm: empty it"),
		with("a unit typed beside a result without one", func(e *edited) { e.write("final", 1, 0, "mm") }, "", "final has no unit, and the cell holds mm: empty it"),
		with("a unit typed beside a truth", func(e *edited) { e.write("wet", 1, 0, "mm") }, "", "wet has no unit, and the cell holds mm: empty it"),
		with("blanks around a unit", func(e *edited) { e.write("rollout", 1, 0, " mm\u00a0"); e.write("curve.flow[1]", 0, -1, "mm ") }, "", ""),
		with("a blank as the unit of a given without one", func(e *edited) { e.write("spare", 1, 0, " ") }, "", ""),
		with("the sign of percent beside a percentage", func(e *edited) { e.write("humidity", 1, 0, "%"); e.write("gears.slip[1]", 0, -1, " %") }, "", ""),
		with("the sign of percent beside another share", func(e *edited) { e.write("share", 1, 0, "%") }, "", "the unit of share was changed from vol% to %"),
		with("a bound of a limit changed", func(e *edited) { e.must(e.f.SetCellValue(limitsTab, at(limitMostColumn, limitsHead+1), 99)) }, "", "Limits!G4: 3 was changed to 99"),
		with("a bound of a limit deleted", func(e *edited) { e.must(e.f.SetCellValue(limitsTab, at(limitMostColumn, limitsHead+1), nil)) }, "", "Limits!G4: 3 was deleted"),
		with("a bound of a limit with its unit", func(e *edited) { e.must(e.f.SetCellValue(limitsTab, at(limitMostColumn, limitsHead+1), "99 mm")) }, "", "Limits!G4: 3 was changed to 99 mm: put it back"),
		with("a label changed", func(e *edited) { e.write("rollout", -1, 0, "Tyre") }, "a text was changed in Sheet!", ""),
		with("a head changed", func(e *edited) { e.write("gears.ratio[1]", 0, -2, "i") }, "a text was changed in gears!", ""),
		with("a name deleted", func(e *edited) { e.must(e.f.DeleteDefinedName(&excelize.DefinedName{Name: "rear"})) }, "", ""),
		with("a name on another cell", func(e *edited) {
			tab, cell := e.place("front")
			e.must(e.f.DeleteDefinedName(&excelize.DefinedName{Name: "rear"}))
			s, _ := spotOf(cell)
			e.must(e.f.SetDefinedName(&excelize.DefinedName{Name: "rear", RefersTo: tab + "!" + fixed(s.column, s.row)}))
		}, "", "the name rear refers to Sheet!"),
		with("a value moved away", func(e *edited) {
			e.set("rear", nil)
			e.must(e.f.SetCellValue("Sheet", "M20", 44))
			e.must(e.f.DeleteDefinedName(&excelize.DefinedName{Name: "rear"}))
			e.must(e.f.SetDefinedName(&excelize.DefinedName{Name: "rear", RefersTo: "Sheet!$M$20"}))
		}, "rear was moved to Sheet!M20", ""),
		with("an empty row below", func(e *edited) { e.must(e.f.InsertRows("gears", 40, 2)) }, "", ""),
		with("properties dropped", func(e *edited) { e.f.Pkg.Delete("docProps/custom.xml") }, "", ""),
		with("a row's number changed", func(e *edited) {
			_, cell := e.place("gears.ratio[2]")
			s, _ := spotOf(cell)
			e.must(e.f.SetCellValue("gears", cellAt(spot{1, s.row}), 7))
		}, "a row's number was changed in gears!A7: ignored", ""),
	}
}

// TestEdits makes every edit in a workbook, and reads it.
func TestEdits(t *testing.T) {
	s := load(t, "edited", editedText)
	data, _ := s.workbook(t)
	for _, c := range edits(t) {
		f, err := excelize.OpenReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		e := &edited{t: t, f: f, b: newBook(s.s, s.r)}
		c.do(e)
		path := filepath.Join(t.TempDir(), "book.xlsx")
		e.must(f.SaveAs(path))
		e.must(f.Close())
		if c.file != nil {
			saved, err := os.ReadFile(path)
			e.must(err)
			e.must(os.WriteFile(path, c.file(saved), 0o644))
		}
		c.check(t, s, path)
	}
}

// check reads an edited workbook and compares what is said.
func (c edit) check(t *testing.T, s sample, path string) {
	t.Helper()
	back, _, err := OpenReturned(path, s.s)
	if err != nil {
		if c.problem == "" || !strings.Contains(err.Error(), c.problem) {
			t.Errorf("%s: %v", c.what, err)
		}
		return
	}
	c.said(t, "problem", c.problem, back.Problems)
	if c.problem == "" || c.note != "" {
		c.said(t, "note", c.note, back.Notes)
	}
	m, err := back.Merge(s.s)
	if err != nil || len(m.Conflicts)+len(m.Already) > 0 {
		t.Errorf("%s: %+v %v", c.what, m, err)
		return
	}
	var refused []string
	for _, r := range m.Refused {
		refused = append(refused, r.Refused)
	}
	if c.problem != "" {
		return
	}
	c.said(t, "refusal", c.refused, refused)
	want := map[string]sheet.Setting{}
	for _, text := range strings.Split(c.set, "; ") {
		if set, d := s.s.ParseSetting(text); d == nil {
			want[set.Name()] = set
		} else if text != "" {
			t.Errorf("%s: %s", c.what, d.Message)
		}
	}
	for _, set := range m.Settings {
		if w, ok := want[set.Name()]; !ok || !agree(w.Value, set.Value, 1e-14) {
			t.Errorf("%s: %s is read as %v, want %q", c.what, set.Name(), set.Value, c.set)
		}
	}
	if len(m.Settings) != len(want) {
		t.Errorf("%s: %d values are read, want %q", c.what, len(m.Settings), c.set)
	}
}

// said compares what was said with what has to be: that, or nothing.
func (c edit) said(t *testing.T, kind, want string, got []string) {
	t.Helper()
	all := strings.Join(got, "; ")
	if want == "" && all != "" || !strings.Contains(all, want) {
		t.Errorf("%s: %s %q, want %q", c.what, kind, all, want)
	}
}
