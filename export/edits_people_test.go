package export

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// peopleEdits are acts of people and programs beyond the first tables: what is typed
// in the habit of a country, what a paste brings along, and what is done to a table.
func peopleEdits(t *testing.T) []edit {
	type e = *edited
	styled := func(name string, v any, format string, out edit) edit {
		out.what = fmt.Sprintf("%s: %v in the format %s", name, v, format)
		out.do = func(e e) { e.set(name, v); e.style(name, format) }
		return out
	}
	typed := func(name, formula string, v any, out edit) edit {
		out.what = fmt.Sprintf("%s: the formula %s", name, formula)
		out.do = func(e e) { e.set(name, v); e.formula(name, formula) }
		return out
	}
	act := func(what string, do func(e), out edit) edit {
		out.what, out.do = what, do
		return out
	}
	return []edit{
		// Numbers in the habit of a country, and as people write them.
		refusedEntry("rollout", "1 990", `the text "1 990"; a number of mm`),
		refusedEntry("rollout", "1990,5", `the text "1990,5"; a number of mm`),
		refusedEntry("rollout", "1.990,5", `the text "1.990,5"; a number of mm`),
		refusedEntry("rollout", "2'085", `the text "2'085"; a number of mm`),
		entered("rollout", "1990mm", "rollout=1990 mm"),
		entered("rollout", "1990\u00a0mm", "rollout=1990 mm"),
		entered("rollout", "'1990", "rollout=1990 mm"),
		refusedEntry("rollout", "1990 MM", `the text "1990 MM"; a number of mm`),
		refusedEntry("rollout", "1990 mm (new)", `the text "1990 mm (new)"`),
		refusedEntry("rollout", "~1990", `the text "~1990"`),
		entered("rollout", "1.99e3", "rollout=1990 mm"),
		refusedEntry("rollout", 1.99, "rollout holds 1.99 mm after 2085 mm: 1.99 mm or 1990 mm?"),
		refusedEntry("gears.ratio[1]", 2450, "2450 or 2.45?"),
		refusedEntry("rollout", "20.85", "rollout holds 20.85 mm after 2085 mm: 20.85 mm or 2085 mm?"),
		refusedEntry("rollout", "1990 m", "rollout holds 1990000 mm after 2085 mm: 1990000 mm or 1990 mm?"),
		refusedEntry("humidity", "0.61", "0.61 % or 61 %?"),
		refusedEntry("mass", "1e30", "far from the 340 kg it was"),
		refusedEntry("spare", "3/4", `spare holds the text "3/4"; a number was expected`),
		refusedEntry("spare", "1 1/2", `spare holds the text "1 1/2"; a number was expected`),
		entered("outside", "\u22122 degF", "outside=-2 degF"),
		entered("charge", "60 °C", "charge=60 degC"),
		refusedEntry("charge", "60 C", `charge holds the text "60 C"; a number of degC was expected`),
		refusedEntry("charge", "６０", `charge holds the text "６０"; a number of degC was expected`),
		refusedEntry("boost", "16 psi", `boost holds the text "16 psi"; a number of psig was expected`),
		refusedEntry("boost", "28.7 psia", `boost holds the text "28.7 psia"; a number of psig was expected`),
		refusedEntry("boost", "14-16", `boost holds the text "14-16"`),
		refusedEntry("boost", "+16", `boost holds the text "+16"`),
		refusedEntry("spare", "2 plugs", `the text "2 plugs"; a number was expected`),
		styled("spare", 1.5, "# ?/?", edit{set: "spare=1.5"}),
		styled("rollout", 1990, `0 "mm"`, edit{set: "rollout=1990 mm"}),
		styled("humidity", 61, `0"%"`, edit{refused: "lost its percent format, and holds 61: 6100 % or 61 %?"}),
		styled("mass", 355, `#,##0.00 [$€-407]`, edit{set: "mass=355 kg"}),
		styled("spare", 43893, "d/m", edit{refused: "spare holds a date, 2020-03-03; a number was expected"}),
		styled("rider", 46143, "yyyy-mm-dd", edit{refused: "rider holds a date, 2026-05-01; a text was expected: give the cell"}),
		styled("rider", 0.05, "0%", edit{refused: "rider holds a percentage, 5 %; a text was expected"}),
		entered("rollout", 1990.0000000000002, "rollout=1990 mm"),
		refusedEntry("rollout", true, "rollout holds a logical value, TRUE; a number of mm"),
		refusedEntry("spare", true, "spare holds a logical value, TRUE; a number was expected"),
		refusedEntry("gears.ratio[2]", false, "gears.ratio[2] holds a logical value, FALSE; a number was expected"),
		refusedEntry("rider", true, "rider holds a logical value, TRUE; a text was expected"),
		entered("rider", 42, `rider="42"`),
		refusedEntry("rider", "A\nB", `rider holds a line break in "A\nB"; a text of one line was expected`),
		entered("rider", "A\tB", "rider=\"A\tB\""),
		entered("rider", "=1+1", `rider="=1+1"`),
		refusedEntry("rider", nil, "rider is empty"),
		refusedEntry("fuel", "Gasoline", `"Gasoline" is not among them`),
		entered("fuel", "gasoline ", `fuel="gasoline"`),
		entered("wet", "Yes ", "wet=yes"),
		refusedEntry("wet", "y", `wet holds "y"; yes or no was expected`),
		refusedEntry("wet", nil, "wet is empty"),
		refusedEntry("wet", 0.5, `wet holds "0.5"; yes or no was expected`),
		refusedEntry("mass", -340, "mass holds -340 kg after 340 kg: -340 kg or 340 kg?"),
		entered("outside", -4, "outside=-4 degF"),
		entered("spare", 0, "spare=0"),
		// Formulas in the fields of givens.
		typed("rollout", "B9*1.02", 2126.7, edit{set: "rollout=2126.7 mm", note: "rollout holds the formula =B9*1.02, of which the value is read"}),
		typed("spare", "1/3", 0.333333333333333, edit{set: "spare=0.333333333333333"}),
		typed("wet", "1=1", true, edit{set: "wet=yes"}),
		inFile(t, "rollout", `t="e"`, "<f>1/0</f><v>#DIV/0!</v>", edit{refused: "rollout holds an error, #DIV/0!"}),
		inFile(t, "rollout", `t="str"`, `<f>"1990"&amp;" mm"</f><v>1990 mm</v>`, edit{set: "rollout=1990 mm", note: "rollout holds the formula ="}),
		inFile(t, "rollout", `t="d"`, "<v>2026-05-01</v>", edit{refused: "rollout holds a date, 2026-05-01; a number of mm"}),
		inFile(t, "rollout", ``, "<v>1,990</v>", edit{refused: `rollout holds "1,990"; a number of mm`}),
		inFile(t, "rollout", ``, "<v>NaN</v>", edit{refused: `rollout holds "NaN"; a number of mm`}),
		inFile(t, "rider", `t="inlineStr"`, `<is><r><rPr><b/></rPr><t xml:space="preserve">B. </t></r><r><t>Rider</t></r></is>`, edit{set: `rider="B. Rider"`}),
		inFile(t, "rider", `t="inlineStr"`, `<is><t>A_x0007_B</t></is>`, edit{refused: `rider holds a control character, '\a'`}),
		// What is done to a table and its place.
		act("a cell merged with its label", func(e e) {
			tab, cell := e.place("rollout")
			s, _ := spotOf(cell)
			e.set("rollout", nil)
			e.must(e.f.MergeCell(tab, cellAt(spot{s.column - 1, s.row}), cell))
		}, edit{refused: "merged"}),
		act("a cell merged with its unit", func(e e) {
			tab, cell := e.place("rollout")
			s, _ := spotOf(cell)
			e.set("rollout", 1990)
			e.write("rollout", 1, 0, nil)
			e.must(e.f.MergeCell(tab, cell, cellAt(spot{s.column + 1, s.row})))
		}, edit{problem: "unit"}),
		act("rows hidden by a filter", func(e e) {
			tab, cell := e.place("gears.ratio[2]")
			s, _ := spotOf(cell)
			e.set("rear", 44)
			e.must(e.f.AutoFilter(tab, "A3:"+cellAt(spot{6, s.row + 11}), nil))
			e.must(e.f.SetRowVisible(tab, s.row, false))
		}, edit{set: "rear=44 teeth"}),
		act("a comment", func(e e) {
			tab, cell := e.place("rear")
			e.set("rear", 44)
			e.must(e.f.AddComment(tab, excelize.Comment{Cell: cell, Author: "A", Text: "from the van"}))
		}, edit{set: "rear=44 teeth"}),
		act("a tab with a password", func(e e) {
			tab, _ := e.place("rear")
			e.set("rear", 44)
			e.must(e.f.ProtectSheet(tab, &excelize.SheetProtectionOptions{Password: "x", AlgorithmName: "SHA-512"}))
		}, edit{set: "rear=44 teeth"}),
		act("two rows of a table exchanged", func(e e) {
			e.set("gears.ratio[1]", 1.9)
			e.set("gears.ratio[2]", 2.5)
		}, edit{set: "gears.ratio[1]=1.9; gears.ratio[2]=2.5"}),
		act("a number below a table", func(e e) { e.write("gears.ratio[13]", 0, 1, 1.04) }, edit{note: "gears!B19 holds 1.04 below the last row of its table, ignored: a row is added"}),
		act("a fraction of a given moved", func(e e) { e.set("rear", 44); e.write("rear", 8, 0, 12) }, edit{set: "rear=44 teeth"}),
		act("a tab out of another workbook", func(e e) {
			e.set("rear", 44)
			_, err := e.f.NewSheet("Other bike")
			e.must(err)
			e.must(e.f.SetCellValue("Other bike", "B5", 38))
			e.must(e.f.SetDefinedName(&excelize.DefinedName{Name: "rear", RefersTo: "'Other bike'!$B$5", Scope: "Other bike"}))
		}, edit{set: "rear=44 teeth", note: "the tab Other bike is not of this worksheet: ignored"}),
		act("a block pasted over givens", func(e e) {
			e.set("rear", 44)
			e.style("rear", "0.00")
			e.write("rear", 0, 1, 18)
			e.style("front", "0.00")
		}, edit{set: "rear=44 teeth; front=18 teeth"}),
		act("a copy of a tab with another value", func(e e) {
			tab, cell := e.place("rear")
			n, err := e.f.NewSheet("Sunday")
			e.must(err)
			from, err := e.f.GetSheetIndex(tab)
			e.must(err)
			e.must(e.f.CopySheet(from, n))
			e.must(e.f.SetCellValue("Sunday", cell, 44))
		}, edit{note: "the tab Sunday is a copy of Sheet, with other values in B"}),
		act("all units exchanged", func(e e) { e.write("rollout", 1, 0, "MM") }, edit{problem: "the unit of rollout was changed from mm to MM"}),
	}
}

// inFile replaces what a cell of the first tab holds in the file.
func inFile(t *testing.T, name, attributes, holds string, out edit) edit {
	place := ""
	out.what = name + ": " + holds
	out.do = func(e *edited) { _, place = e.place(name) }
	out.file = func(data []byte) []byte {
		cell := regexp.MustCompile(`<c r="` + place + `"[^>]*?(/>|>.*?</c>)`)
		return repacked(t, data, func(part, text string) (string, string) {
			if part == frontPart {
				text = cell.ReplaceAllLiteralString(text, `<c r="`+place+`" `+attributes+`>`+holds+`</c>`)
			}
			return part, text
		})
	}
	return out
}

// frontPart is the part of the first tab.
const frontPart = "xl/worksheets/sheet1.xml"

// repacked changes the parts of a saved workbook.
func repacked(t *testing.T, data []byte, change func(name, part string) (string, string)) []byte {
	t.Helper()
	names, parts := partsOf(t, data)
	changed := map[string][]byte{}
	for i, name := range names {
		to, part := change(name, string(parts[name]))
		if names[i] = to; part != "" {
			changed[to] = []byte(part)
		}
	}
	return zipped(t, names, changed)
}

// fileEdits are what other programs make of the file.
func fileEdits(t *testing.T) []edit {
	each := func(change func(name, part string) (string, string)) func([]byte) []byte {
		return func(data []byte) []byte { return repacked(t, data, change) }
	}
	swap := func(part, old, text string) func([]byte) []byte {
		return each(func(name, p string) (string, string) {
			if name == part {
				if !strings.Contains(p, old) {
					t.Fatalf("%s holds no %q", part, old)
				}
				p = strings.Replace(p, old, text, 1)
			}
			return name, p
		})
	}
	rear := func(e *edited) { e.set("rear", 44) }
	with := func(what string, file func([]byte) []byte, out edit) edit {
		out.what, out.do, out.file = what, rear, file
		if out.problem == "" && out.set == "" && out.refused == "" {
			out.set = "rear=44 teeth"
		}
		return out
	}
	return []edit{
		with("macros", swap("[Content_Types].xml", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml", "application/vnd.ms-excel.sheet.macroEnabled.main+xml"), edit{}),
		with("a template", swap("[Content_Types].xml", "spreadsheetml.sheet.main", "spreadsheetml.template.main"), edit{}),
		with("strict", each(func(name, p string) (string, string) {
			p = strings.ReplaceAll(p, "http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://purl.oclc.org/ooxml/spreadsheetml/main")
			p = strings.ReplaceAll(p, "http://schemas.openxmlformats.org/officeDocument/2006/", "http://purl.oclc.org/ooxml/officeDocument/")
			return name, p
		}), edit{}),
		with("saved on the web", each(func(name, p string) (string, string) {
			if strings.HasPrefix(name, "docProps/") {
				p = ""
			}
			return name, strings.ReplaceAll(p, `state="veryHidden"`, `state="hidden"`)
		}), edit{}),
		with("prefixes", each(func(name, p string) (string, string) {
			if strings.HasPrefix(name, "xl/worksheets/sheet") {
				p = regexp.MustCompile(`<(/?)([a-zA-Z]+)([ />])`).ReplaceAllString(p, "<${1}x:$2$3")
				p = strings.Replace(p, "xmlns=", "xmlns:x=", 1)
			}
			return name, p
		}), edit{}),
		with("other names of parts", each(func(name, p string) (string, string) {
			switch name {
			case "xl/workbook.xml":
				name = "xl/workbook22.xml"
			case "xl/_rels/workbook.xml.rels":
				name = "xl/_rels/workbook22.xml.rels"
				p = strings.Replace(p, "sharedStrings.xml", "sharedStrings3.xml", 1)
				p = strings.Replace(p, "styles.xml", "styles2.xml", 1)
			case "xl/sharedStrings.xml":
				name = "xl/sharedStrings3.xml"
			case "xl/styles.xml":
				name = "xl/styles2.xml"
			}
			return name, strings.Replace(p, "xl/workbook.xml", "xl/workbook22.xml", 1)
		}), edit{}),
		with("no references of cells", each(func(name, p string) (string, string) {
			if name == frontPart {
				p = regexp.MustCompile(`<row r="\d+"`).ReplaceAllString(p, "<row")
			}
			return name, p
		}), edit{}),
		with("whole numbers with a point", each(func(name, p string) (string, string) {
			if strings.HasPrefix(name, "xl/worksheets/sheet") {
				p = regexp.MustCompile(`(<c r="\w+"(?: s="\d+")?>(?:<f>[^<]*</f>)?)<v>(\d+)</v>`).ReplaceAllString(p, "$1<v>$2.0</v>")
			}
			return name, p
		}), edit{}),
		with("a cell twice", swap(frontPart, `<v>44</v></c>`, `<v>44</v></c><c r="B12"><v>38</v></c>`), edit{problem: "its cell B12 is in it twice"}),
		with("a part twice", func(data []byte) []byte {
			names, parts := partsOf(t, data)
			return zipped(t, append(names, frontPart), parts)
		}, edit{problem: "its part xl/worksheets/sheet1.xml is in it twice"}),
		with("a name twice", swap("xl/workbook.xml", `<definedNames>`, `<definedNames><definedName name="rear">Sheet!$B$9</definedName>`), edit{problem: "the name rear refers to"}),
		with("an OpenDocument file", func([]byte) []byte {
			return zipped(t, []string{"mimetype"}, map[string][]byte{"mimetype": []byte(openDocument + ".spreadsheet")})
		}, edit{problem: "it has the format OpenDocument (.ods): save it as .xlsx"}),
		with("encrypted", func([]byte) []byte { return []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + strings.Repeat("\x00", 600)) }, edit{problem: "it has a password, or the old format .xls"}),
		with("a page", func([]byte) []byte { return []byte("<!doctype html><html></html>") }, edit{problem: "cannot be read as a workbook"}),
		with("1904 dates", swap("xl/workbook.xml", `<workbookPr`, `<workbookPr date1904="1"`), edit{}),
	}
}

// TestRulesOfEntries lists the rule of every kind of given: a range is a warning,
// a choice a stop, and where the worksheet states nothing an entry that is far from
// the present one is a slip.
func TestRulesOfEntries(t *testing.T) {
	s := load(t, "rules", editedText+"absolute : 14.7 psia\ncold : -5 degC\nshare2 : 0 %\nidler : 12 teeth\n")
	data, _ := s.workbook(t)
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	e := &edited{t: t, f: f}
	for name, want := range map[string][4]string{
		"humidity":       {"decimal", "warning", "0.05..1", "The worksheet expects a number from 5 to 100 %."},
		"rollout":        {"decimal", "warning", "1900..2300", "The worksheet expects a number from 1900 to 2300 mm."},
		"front":          {"whole", "warning", "15..19", "The worksheet expects a whole number from 15 to 19 teeth."},
		"rear":           {"list", "stop", `"38,41,44"..`, "The cell takes one of 38, 41, 44 teeth."},
		"fuel":           {"list", "stop", `"methanol,gasoline"..`, "The cell takes one of methanol, gasoline."},
		"wet":            {"list", "stop", `"yes,no"..`, "The cell takes yes or no."},
		"duty":           {"decimal", "stop", "-10..10", "The cell takes a number, in %, from -1000 to 1000."},
		"outside":        {"decimal", "stop", "-459.67..100000", "The cell takes a number, in degF, from -459.67 to 100000."},
		"absolute":       {"decimal", "stop", "0..100000", "The cell takes a number, in psia, from 0 to 100000."},
		"cold":           {"decimal", "stop", "-273.15..10000", "The cell takes a number, in degC, from -273.15 to 10000."},
		"share2":         {"decimal", "stop", "-10..10", "The cell takes a number, in %, from -1000 to 1000."},
		"idler":          {"whole", "stop", "0..100000", "The cell takes a whole number, in teeth, from 0 to 100000."},
		"mass":           {"decimal", "stop", "-1000000..1000000", "The cell takes a number, in kg, from -1000000 to 1000000."},
		"gears.ratio[2]": {"decimal", "stop", "-10000..10000", "The cell takes a number, from -10000 to 10000."},
		"gears.used[2]":  {"list", "stop", `"yes,no"..`, "The cell takes yes or no."},
	} {
		tab, cell := e.place(name)
		rules, err := f.GetDataValidations(tab)
		e.must(err)
		found := false
		for _, r := range rules {
			if !covers(r.Sqref, cell) {
				continue
			}
			found = true
			if got := [4]string{r.Type, *r.ErrorStyle, r.Formula1 + ".." + r.Formula2, *r.Error}; got != want {
				t.Errorf("%s: %q, want %q", name, got, want)
			}
		}
		if !found {
			t.Errorf("%s: anything may be entered", name)
		}
	}
}

// covers reports whether a list of cells and ranges holds a cell.
func covers(list, cell string) bool {
	at, _ := spotOf(cell)
	for _, r := range strings.Fields(list) {
		first, last, isRange := strings.Cut(r, ":")
		a, _ := spotOf(first)
		b := a
		if isRange {
			b, _ = spotOf(last)
		}
		if at.column >= a.column && at.column <= b.column && at.row >= a.row && at.row <= b.row {
			return true
		}
	}
	return false
}
