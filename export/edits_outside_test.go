package export

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// officeEdits are made by LibreOffice, which moves formulas and names along;
// do is what it runs with the book's tabs unprotected.
func officeEdits() []struct {
	edit
	do string
} {
	e := func(what, do, note, problem string) struct {
		edit
		do string
	} {
		out := edit{what: what, note: note, problem: problem}
		if problem == "" {
			out.set = "rear=44 teeth"
		}
		return struct {
			edit
			do string
		}{out, do}
	}
	const sort = `f = uno.createUnoStruct("com.sun.star.table.TableSortField"); f.Field = 0; f.IsAscending = True; ` +
		`s.getCellRangeByPosition(a.StartColumn, a.StartRow, a.StartColumn + 4, a.EndRow).sort((prop("SortFields", uno.Any("[]com.sun.star.table.TableSortField", (f,))), prop("ContainsHeader", False)))`
	const table = `n = named("gears_ratio"); s, a = n.Spreadsheet, n.RangeAddress; `
	sorted := e("a table sorted", table+sort, "", "")
	sorted.set += "; " + sortedGears()
	return []struct {
		edit
		do string
	}{
		e("saved", "pass", "", ""),
		e("a row above all", "sheet.Rows.insertByIndex(0, 3)", "rows 1 to 3 were inserted", ""),
		e("a row in between", `sheet.Rows.insertByIndex(named("mass").RangeAddress.StartRow, 1)`, "was inserted", ""),
		e("a column in front", "sheet.Columns.insertByIndex(0, 2)", "columns A to B were inserted", ""),
		e("a column between label and value", "sheet.Columns.insertByIndex(1, 1)", "column B was inserted", ""),
		e("a given's row deleted", `sheet.Rows.removeByIndex(named("mass").RangeAddress.StartRow, 1)`, "", "was deleted, with mass"),
		e("an empty row in a table", table+"s.Rows.insertByIndex(a.StartRow + 1, 1)", "was inserted", ""),
		e("a row with an entry in a table", table+"s.Rows.insertByIndex(a.StartRow + 1, 1); s.getCellByPosition(a.StartColumn, a.StartRow + 1).Value = 2.2", "", "inserted, with an entry in"),
		e("a table's row deleted", table+"s.Rows.removeByIndex(a.StartRow + 1, 1)", "", "was deleted, with gears."),
		e("a tab copied", `book.Sheets.copyByName(sheet.Name, "Again", 1)`, "the tab Again is a copy of", ""),
		e("the first tab moved", "book.Sheets.moveByName(sheet.Name, 3)", "the tabs were put into another order", ""),
		e("a tab renamed", `sheet.Name = "Our bike"`, "was renamed to Our bike", ""),
		e("an own tab with formulas", `book.Sheets.insertNewByName("Mine", 0); book.Sheets.getByName("Mine").getCellRangeByName("A1").Formula = "=final*2"`, "the tab Mine is not of this worksheet", ""),
		e("a value dragged away", `c = named("rear").RangeAddress; to = cell_address(c.Sheet, 80, 40); sheet.moveRange(to, c)`, "rear was moved to", ""),
		e("a formula typed over", `named("final").Value = 2.5`, "", "the formula was replaced by 2.5"),
		e("a formula in a field", `named("rear").Formula = "=22*2"`, "", ""),
		sorted,
		e("a comment", `c = named("rear").RangeAddress; a = cell_address(c.Sheet, c.StartColumn, c.StartRow); sheet.Annotations.insertNew(a, "from the van")`, "", ""),
		e("rows hidden", `sheet.Rows.getByIndex(named("mass").RangeAddress.StartRow).IsVisible = False`, "", ""),
		e("a tab with a password", `sheet.protect("secret")`, "", ""),
		e("a cell merged with its unit", `c = named("rear").RangeAddress; sheet.getCellRangeByPosition(c.StartColumn, c.StartRow, c.StartColumn + 1, c.StartRow).merge(True)`, "", ""),
		e("text instead of a number", `named("rear").String = "44"`, "", ""),
		e("a sum below a table", table+"s.getCellByPosition(a.StartColumn, a.EndRow + 1).Value = 1.04", "below the last row of its table, ignored", ""),
		e("with macros", `filter = "Calc MS Excel 2007 VBA XML"`, "", ""),
		e("as a template", `filter = "Calc MS Excel 2007 XML Template"`, "", ""),
		e("as OpenDocument", `filter = "calc8"`, "", "it has the format OpenDocument"),
		e("in the old format", `filter = "MS Excel 97"`, "", "the old format .xls"),
		e("a unit typed over", `c = named("rollout").RangeAddress; sheet.getCellByPosition(c.StartColumn + 1, c.StartRow).String = "in"`, "", "the unit of rollout was changed from mm to in"),
	}
}

// sortedGears returns what the table of edited gears holds in the order of its
// ratios, as settings.
func sortedGears() string {
	ratios := strings.Fields("1.05 1.06 1.08 1.10 1.12 1.15 1.20 1.25 1.30 1.40 1.50 1.90 2.50")
	names := strings.Fields("13th 12th 11th 10th 9th 8th 7th 6th 5th 4th third second first")
	settings := []string{"gears.slip[1]=3", "gears.slip[2]=3", "gears.slip[12]=3.5", "gears.slip[13]=4", "gears.used[3]=yes", "gears.used[11]=no"}
	for i := range ratios {
		if i != 6 { // the one in the middle
			settings = append(settings, fmt.Sprintf("gears.ratio[%d]=%s", i+1, ratios[i]), fmt.Sprintf("gears.name[%d]=%q", i+1, names[i]))
		}
	}
	return strings.Join(settings, "; ")
}

// editInOffice is the loop that makes officeEdits; a line is a path to save to
// and what to run, separated by a tab.
const editInOffice = `
def cell_address(sheet, column, row):
    a = uno.createUnoStruct("com.sun.star.table.CellAddress")
    a.Sheet, a.Column, a.Row = sheet, column, row
    return a
def edit(desktop, source, line):
    target, do = line.rstrip("\n").split("\t")
    book = load(source, prop("Hidden", True))
    for i in range(book.Sheets.Count):
        book.Sheets.getByIndex(i).unprotect("")
    named = lambda n: book.NamedRanges.getByName(n).getReferredCells()
    sheet = named("rear").Spreadsheet
    named("rear").Value = 44
    given = {"prop": prop, "book": book, "sheet": sheet, "named": named, "cell_address": cell_address, "uno": uno, "filter": "Calc MS Excel 2007 XML"}
    exec(do, given)
    book.calculateAll()
    book.storeToURL("file://" + target, (prop("FilterName", given["filter"]),))
    book.close(True)
`

// TestEditsInLibreOffice makes edits in LibreOffice, and reads what it saves.
func TestEditsInLibreOffice(t *testing.T) {
	s := load(t, "edited", editedText)
	data, _ := s.workbook(t)
	dir := t.TempDir()
	in := filepath.Join(dir, "in.xlsx")
	if err := os.WriteFile(in, data, 0o644); err != nil {
		t.Fatal(err)
	}
	var lines strings.Builder
	all := officeEdits()
	for i, e := range all {
		fmt.Fprintf(&lines, "%s\t%s\n", filepath.Join(dir, strconv.Itoa(i)+".xlsx"), e.do)
	}
	script := editInOffice + "for line in sys.stdin:\n    edit(desktop, " + strconv.Quote(in) + ", line)\n"
	inOffice(t, "en-US", script, lines.String())
	for i, e := range all {
		e.check(t, s, filepath.Join(dir, strconv.Itoa(i)+".xlsx"))
	}
}

// TestRowsInLibreOffice deletes and inserts rows that hold formulas alone, those of
// limits on the front: their formulas distinguish them.
func TestRowsInLibreOffice(t *testing.T) {
	s := load(t, "rows", "title \"Rows\"\nrear : 41 teeth\nfront : 17 teeth\nfinal = rear / front\n"+
		"limit final <= 3\nlimit final >= 2\nlimit rear <= 48 teeth\nlimit front >= 14 teeth\n")
	data, _ := s.workbook(t)
	dir := t.TempDir()
	in := filepath.Join(dir, "in.xlsx")
	if err := os.WriteFile(in, data, 0o644); err != nil {
		t.Fatal(err)
	}
	b := newBook(s.s, s.r)
	first := 0
	for i, l := range b.front.lines {
		if l.kind == limitLine {
			first = i + 1
			break
		}
	}
	var lines strings.Builder
	all := []struct{ do, note string }{
		{fmt.Sprintf("sheet.Rows.removeByIndex(%d, 1)", first), fmt.Sprintf("Sheet: row %d was deleted", first+1)},
		{fmt.Sprintf("sheet.Rows.removeByIndex(%d, 2)", first), fmt.Sprintf("Sheet: rows %d to %d were deleted", first+1, first+2)},
		{fmt.Sprintf("sheet.Rows.removeByIndex(%d, 2)", first-3), fmt.Sprintf("Sheet: rows %d to %d were deleted", first-2, first-1)},
		{fmt.Sprintf("sheet.Rows.insertByIndex(%d, 1)", first), fmt.Sprintf("Sheet: row %d was inserted", first+1)},
	}
	for i, e := range all {
		fmt.Fprintf(&lines, "%s\t%s\n", filepath.Join(dir, strconv.Itoa(i)+".xlsx"), e.do)
	}
	inOffice(t, "en-US", editInOffice+"for line in sys.stdin:\n    edit(desktop, "+strconv.Quote(in)+", line)\n", lines.String())
	for i, e := range all {
		back, _, err := OpenReturned(filepath.Join(dir, strconv.Itoa(i)+".xlsx"), s.s)
		switch {
		case err != nil:
			t.Error(err)
		case len(back.Problems) > 0 || len(back.Notes) != 1 || back.Notes[0] != e.note || len(back.Entries) != 1:
			t.Errorf("%s: problems %q, notes %q, %d entries; want the note %q", e.do, back.Problems, back.Notes, len(back.Entries), e.note)
		}
	}
}

// linesText has two short tables among its lines.
const linesText = `title "Front"
section "Air"
air : 28.00 degC "Air temperature"
section "Drive"
rear : 41 teeth range 30..60 "Rear sprocket"
front : 17 teeth "Front sprocket"
final = rear / front to 0.001
table gears
  gear : 1, 2, 3, 4
  ratio : 2.50, 1.90, 1.50, 1.40
  overall = ratio * final to 0.01
top = last(gears.overall)
table fuel
  what : "a", "b", "c"
  mass : 10, 20.5, 30 kg
total = sum(fuel.mass)
limit final <= 3
limit top <= 20
limit total <= 100 kg
limit rear <= 48 teeth
`

// lineEdits are acts on rows and tables of the front; a row in braces counts from a first
// line in row 11. script says that openpyxl does
// them, which moves neither formulas nor names along.
func lineEdits() []struct {
	edit
	do     string
	script bool
} {
	type act = struct {
		edit
		do     string
		script bool
	}
	read := func(what, do, note string) act {
		return act{edit{what: what, note: note, set: "rear=44 teeth"}, do, false}
	}
	refused := func(what, do, problem string) act { return act{edit{what: what, problem: problem}, do, false} }
	script := func(what, do, problem string) act { return act{edit{what: what, problem: problem}, do, true} }
	const stray = ", but the formulas and names did not follow, as after a sort or a script ("
	const lines = `f = uno.createUnoStruct("com.sun.star.table.TableSortField"); f.Field = 0; f.IsAscending = True; ` +
		`part("A{14}:H{15}").sort((prop("SortFields", uno.Any("[]com.sun.star.table.TableSortField", (f,))), prop("ContainsHeader", False)))`
	return []act{
		read("a table moved aside", `move("A{17}:C{23}", "E{17}")`, "Sheet: the table gears was moved to E{17}"),
		read("a table moved beside other lines", `move("A{17}:C{23}", "J{11}")`, "Sheet: the table gears was moved to J{11}"),
		read("a table moved down", `move("A{26}:B{31}", "A{40}")`, "Sheet: the table fuel was moved to A{40}"),
		read("a table moved without its title", `move("A{18}:C{23}", "E{18}")`, "Sheet: the table gears was moved to E{18}"),
		read("the rows of a table moved", `move("A{20}:C{23}", "E{20}")`, "Sheet: the table gears was moved to E{20}"),
		read("two tables moved", `move("A{17}:C{23}", "E{17}"); move("A{26}:B{31}", "E{26}")`, "Sheet: the table gears was moved to E{17}; Sheet: the table fuel was moved to E{26}"),
		read("a table moved and a row inserted", `move("A{17}:C{23}", "E{17}"); sheet.Rows.insertByIndex({12} - 1, 1)`, "Sheet: the table gears was moved to E{18}; Sheet: row {12} was inserted"),
		refused("a table moved to another tab", `book.Sheets.insertNewByName("Mine", 1); sheet.moveRange(cell_address(1, 0, 0), part("A{17}:C{23}").RangeAddress)`, "the table gears was moved to the tab Mine: move it back"),
		refused("a row of a short table deleted", "sheet.Rows.removeByIndex({22} - 1, 1)", "Sheet: row {22} was deleted, with gears.gear[3], gears.ratio[3]: undo that"),
		refused("the first row of a short table deleted", "sheet.Rows.removeByIndex({20} - 1, 1)", "Sheet: row {20} was deleted, with gears.gear[1], gears.ratio[1]: undo that"),
		refused("the last row of a short table deleted", "sheet.Rows.removeByIndex({23} - 1, 1)", "Sheet: row {23} was deleted, with gears.gear[4], gears.ratio[4]: undo that"),
		refused("two rows of a short table deleted", "sheet.Rows.removeByIndex({21} - 1, 2)", "Sheet: rows {21} to {22} were deleted, with gears.gear[2], gears.ratio[2], gears.gear[3], gears.ratio[3]: undo that"),
		refused("a row of a table of texts deleted", "sheet.Rows.removeByIndex({30} - 1, 1)", "Sheet: row {30} was deleted, with fuel.what[2], fuel.mass[2]: undo that"),
		read("an empty row within a short table", "sheet.Rows.insertByIndex({22} - 1, 1)", "Sheet: row {22} was inserted"),
		read("an empty row within a table of texts", "sheet.Rows.insertByIndex({30} - 1, 1)", "Sheet: row {30} was inserted"),
		refused("a filled row within a short table", `sheet.Rows.insertByIndex({22} - 1, 1); part("A{22}").Value = 2; part("B{22}").Value = 1.7`, "Sheet: row {22} was inserted, with an entry in A{22}: a row is added"),
		refused("a filled row within a table of texts", `sheet.Rows.insertByIndex({30} - 1, 1); part("A{30}").String = "z"; part("B{30}").Value = 5`, "Sheet: row {30} was inserted, with an entry in A{30}: a row is added"),
		refused("a copied row within a short table", `sheet.Rows.insertByIndex({22} - 1, 1); sheet.copyRange(cell_address(0, 0, {22} - 1), part("A{21}:C{21}").RangeAddress)`, "Sheet: row {22} was inserted, with an entry in A{22}: a row is added"),
		read("a row below a short table", `part("A{24}").Value = 5; part("B{24}").Value = 1.2`, "Sheet!A{24}:B{24} holds 5, 1.2 below the last row of its table, ignored: a row is added"),
		read("the row under the heads deleted", "sheet.Rows.removeByIndex({19} - 1, 1)", "Sheet: row {19} was deleted"),
		read("a limit deleted and a row inserted below", "sheet.Rows.insertByIndex(6, 1); sheet.Rows.removeByIndex(4, 1)", "Sheet: row 6 was inserted; Sheet: row 5 was deleted"),
		read("a limit deleted and a row inserted above", "sheet.Rows.insertByIndex(5, 1); sheet.Rows.removeByIndex(7, 1)", "Sheet: row 6 was inserted; Sheet: row 7 was deleted"),
		refused("a limit emptied", `part("A5:I5").clearContents(23)`, "formulas were deleted: undo that"),
		refused("lines sorted", lines, "Sheet: rows were put into another order"+stray+"the name rear refers to Sheet!B{14} now; its field is Sheet!B{15}): undo that"),
		refused("a cell inserted above values", `sheet.insertCells(part("B{15}").RangeAddress, uno.Enum("com.sun.star.sheet.CellInsertMode", "DOWN"))`, "cells were inserted, deleted or sorted beside the lines of "),
		refused("a value dragged onto another", `sheet.moveRange(part("B{15}").CellAddress, part("B{14}").RangeAddress)`, "rear"),
		read("a cell inserted before a value", `sheet.insertCells(part("B{14}").RangeAddress, uno.Enum("com.sun.star.sheet.CellInsertMode", "RIGHT"))`, "rear was moved to Sheet!C{14}; a text was changed in Sheet!D{14}, Sheet!H{14}: ignored"),
		refused("a cell deleted, those below moved up", `sheet.removeRange(part("B{14}").RangeAddress, uno.Enum("com.sun.star.sheet.CellDeleteMode", "UP"))`, "the cells of rear (Sheet!B{14}) were deleted: undo that"),
		refused("the tab deleted, its copy kept", `book.Sheets.copyByName(sheet.Name, "Copy", 1); book.Sheets.removeByName(sheet.Name)`, "the cells of air (Copy!B{12}), rear (Copy!B{14}), front (Copy!B{15}), gears.gear (Copy!A{20}), gears.ratio (Copy!B{20}) and 2 more were deleted: undo that"),
		refused("two formulas changed", `part("C{21}").Formula = "=1"; part("C{22}").Formula = "=2"`, "Sheet!C{21}:C{22}: 2 formulas were changed, the first to =1: undo that"),
		script("a row inserted", "sheet.insert_rows({15})", "Sheet: row {15} was inserted"+stray+"the name front refers to Sheet!B{15} now; its field is Sheet!B{16}): undo that"),
		script("rows inserted above all", "sheet.insert_rows(1, 2)", "Sheet: rows 1 to 2 were inserted"+stray),
		script("a row inserted within a table", "sheet.insert_rows({22})", "Sheet: row {22} was inserted"+stray),
		script("a row of a given deleted", "sheet.delete_rows({15})", "Sheet: row {15} was deleted, with front: undo that"),
		script("a row of a heading deleted", "sheet.delete_rows({13})", "Sheet: row {13} was deleted"+stray),
		script("a row of a table deleted", "sheet.delete_rows({22})", "Sheet: row {22} was deleted, with gears.gear[3], gears.ratio[3]: undo that"),
		script("a column inserted", "sheet.insert_cols(2)", "Sheet: column B was inserted"+stray),
		script("a column of units deleted", "sheet.delete_cols(3)", "Sheet: column C was deleted"),
		script("a column of values deleted", "sheet.delete_cols(2)", "Sheet: column B was deleted, with air, rear, front, gears.ratio[1], gears.ratio[2] and 5 more: undo that"),
		script("a row inserted among the limits", `book["Limits"].insert_rows(2)`, "Limits: row 2 was inserted"+stray),
	}
}

// TestLineEdits makes lineEdits, and finds one message for each problem.
func TestLineEdits(t *testing.T) {
	s := load(t, "front edits", linesText)
	data, _ := s.workbook(t)
	dir := t.TempDir()
	in := filepath.Join(dir, "in.xlsx")
	if err := os.WriteFile(in, data, 0o644); err != nil {
		t.Fatal(err)
	}
	path := func(i int) string { return filepath.Join(dir, strconv.Itoa(i)+".xlsx") }
	all := lineEdits()
	row := regexp.MustCompile(`\{(\d+)\}`)
	book, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	_, air := (&edited{t: t, f: book}).place("air")
	at := func(text string) string {
		return row.ReplaceAllStringFunc(text, func(r string) string {
			first, _ := spotOf(air)
			n, err := strconv.Atoi(strings.Trim(r, "{}"))
			if err != nil {
				t.Fatal(err)
			}
			return strconv.Itoa(n - 12 + first.row)
		})
	}
	var office, scripts strings.Builder
	for i := range all {
		all[i].do, all[i].note, all[i].problem = at(all[i].do), at(all[i].note), at(all[i].problem)
		e := all[i]
		if e.script {
			fmt.Fprintf(&scripts, "book = openpyxl.load_workbook(%q); sheet = book[\"Sheet\"]\n%s\nbook.save(%q)\n", in, e.do, path(i))
		} else {
			fmt.Fprintf(&office, "%s\tpart = sheet.getCellRangeByName; move = lambda r, to: sheet.moveRange(part(to).getCellByPosition(0, 0).CellAddress, part(r).RangeAddress); %s\n", path(i), e.do)
		}
	}
	cmd := exec.Command(unoPython(t), "-W", "ignore", "-")
	cmd.Stdin = strings.NewReader("import openpyxl\n" + scripts.String())
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	inOffice(t, "en-US", editInOffice+"for line in sys.stdin:\n    edit(desktop, "+strconv.Quote(in)+", line)\n", office.String())
	for i, e := range all {
		e.check(t, s, path(i))
		if back, _, err := OpenReturned(path(i), s.s); err == nil && len(back.Problems) > 1 {
			t.Errorf("%s: %d messages: %q", e.what, len(back.Problems), back.Problems)
		}
	}
}

// typeInOffice types texts into a field, key by key, and prints what the field,
// and one that depends on it, hold then; a line is a name, a text and the name of
// the dependent.
const typeInOffice = `
book = load(source)
named = lambda n: book.NamedRanges.getByName(n).getReferredCells().getCellByPosition(0, 0)
robot = context.ServiceManager.createInstance("com.sun.star.awt.Toolkit")
window = book.CurrentController.Frame.ContainerWindow
def key(char, code):
    e = uno.createUnoStruct("com.sun.star.awt.KeyEvent")
    e.Source, e.KeyChar, e.KeyCode = window, uno.Char(char), code
    robot.keyPress(e)
    robot.keyRelease(e)
def shown(n):
    c = named(n)
    return "%.15g" % c.Value if c.Value != 0 or c.String == "0" else c.String
window.setFocus()
for line in sys.stdin:
    name, how, text, dependent = line.rstrip("\n").split("\t")
    if how == "keys":
        book.CurrentController.select(named(name))
        for char in text:
            key(char, 0)
        key("\0", 1280)
        time.sleep(0.5)
    else:
        named(name).FormulaLocal = text
    print(name, text, shown(name), shown(dependent), sep="\t")
`

// TestTypedInLibreOffice types percentages and logical values in two locales: 5
// and 5 % are the same entry, and every choice of a logical value gives the
// engine's result.
func TestTypedInLibreOffice(t *testing.T) {
	s := load(t, "typed in", "title \"Typed\"\nhumidity : 58 % range 1..100\nwet : no\ndouble = humidity * 2\ndry = not wet\nshift = if wet then 1 else 2\n")
	data, _ := s.workbook(t)
	in := filepath.Join(t.TempDir(), "in.xlsx")
	if err := os.WriteFile(in, data, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, l := range []struct{ locale, half string }{{"en-US", "57.5"}, {"de-DE", "57,5"}} {
		input := strings.Join([]string{
			"humidity\tkeys\t5\tdouble", "humidity\tkeys\t" + l.half + "\tdouble", "humidity\tentered\t5 %\tdouble", "humidity\tentered\t" + l.half + "%\tdouble",
			"wet\tentered\tyes\tshift", "wet\tentered\tyes\tdry", "wet\tentered\tno\tshift", "wet\tentered\tno\tdry",
		}, "\n") + "\n"
		got := inOffice(t, l.locale, "source = "+strconv.Quote(in)+"\n"+typeInOffice, input)
		want := strings.Join([]string{
			"humidity\t5\t0.05\t0.1", "humidity\t" + l.half + "\t0.575\t1.15", "humidity\t5 %\t0.05\t0.1", "humidity\t" + l.half + "%\t0.575\t1.15",
			"wet\tyes\tyes\t1", "wet\tyes\tyes\tno", "wet\tno\tno\t2", "wet\tno\tno\tyes",
		}, "\n") + "\n"
		if got != want {
			t.Errorf("%s: got\n%swant\n%s", l.locale, got, want)
		}
	}
}

// TestSavedElsewhere reads what gnumeric and openpyxl save of every template,
// unchanged and with a value changed; openpyxl drops the properties.
func TestSavedElsewhere(t *testing.T) {
	ssconvert := tool(t, "ssconvert")
	python := unoPython(t)
	dir := t.TempDir()
	for _, s := range append(loadTemplates(t), load(t, "edited", editedText)) {
		data, _ := s.workbook(t)
		in, g, o := filepath.Join(dir, s.name+".xlsx"), filepath.Join(dir, s.name+"-g.xlsx"), filepath.Join(dir, s.name+"-o.xlsx")
		if err := os.WriteFile(in, data, 0o644); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command(ssconvert, in, g).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		save := `import sys, warnings; warnings.simplefilter("ignore"); import openpyxl; openpyxl.load_workbook(sys.argv[1]).save(sys.argv[2])`
		if out, err := exec.Command(python, "-c", save, in, o).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		for _, path := range []string{g, o} {
			edit{what: filepath.Base(path)}.check(t, s, path)
		}
	}
}
