package export

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// workbookVersion is the version of the hidden text's format, for its reader.
const workbookVersion = "2"

// The workbook's properties that name its origin.
const (
	versionProperty = "Gearleaf workbook"
	hashProperty    = "Worksheet SHA-256"
)

// workbook is a book being written.
type workbook struct {
	*book
	f      *excelize.File
	rows   *tabRows
	styles styles
	// explained counts faults whose cause has been searched: each costs a slow
	// run of the sheet.
	explained  int
	ordered    []int   // the limits, those first that ask for attention
	reasonTall float64 // the height of a limit's reason on the front
}

// writeWorkbook writes the spreadsheet.
func writeWorkbook(w io.Writer, s *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	if err := Reportable(r); err != nil {
		return Report{}, err
	}
	f := excelize.NewFile()
	defer func() { _ = f.Close() }()
	wb := &workbook{book: newBook(s, r), f: f, rows: newTabRows()}
	wb.styles = styles{f: f, known: map[styleKey]int{}}
	if err := wb.write(); err != nil {
		return Report{}, fmt.Errorf("the workbook could not be created: %w", err)
	}
	packWith(f, wb.rows)
	if err := f.Write(w); err != nil {
		return Report{}, fmt.Errorf("the workbook could not be written: %w", err)
	}
	return wb.report, nil
}

// write makes every tab, in the order of the workbook.
func (wb *workbook) write() error {
	steps := []func() error{
		wb.prepare, wb.tabsInOrder, wb.properties, wb.definedNames,
		wb.writeLeaves, wb.writeLimits, wb.writeTables, wb.writeCharts, wb.writeValidity, wb.writeWorked, wb.writeSteps, wb.writeSource,
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return wb.styles.err
}

// stream begins the rows of a tab.
func (wb *workbook) stream(tab string) (*rowWriter, error) { return streamRows(wb.f, wb.rows, tab) }

func (wb *workbook) prepare() error {
	if err := wb.f.SetDefaultFont(fontName); err != nil {
		return err
	}
	return wb.f.SetSheetName("Sheet1", wb.front.name)
}

// Names of tabs; the plan has kept them free.
const (
	limitsTab   = "Limits"
	chartsTab   = "Charts"
	validityTab = "Ranges and validity"
	workedTab   = "How it is worked out"
	sourceTab   = "Worksheet text"
)

// tabsInOrder makes the tabs: those for reading first, steps and the text last.
func (wb *workbook) tabsInOrder() error {
	shown, hidden := wb.readTabs()
	reference := wb.referenceTabs()
	if len(wb.leaves) > 1 {
		// Reference tabs are hidden, and not printed, in a book of several
		// sheets.
		hidden = append(hidden, reference...)
	} else {
		shown = append(shown, reference...)
	}
	hidden = append(hidden, wb.stepTabs()...)
	for _, tab := range append(append(shown, hidden...), sourceTab) {
		if _, err := wb.f.NewSheet(tab); err != nil {
			return err
		}
	}
	wb.f.SetActiveSheet(0)
	// Hiding a tab reads every tab back, which is cheap while they are empty.
	for _, tab := range hidden {
		if err := wb.f.SetSheetVisible(tab, false); err != nil {
			return err
		}
	}
	return wb.f.SetSheetVisible(sourceTab, false, true)
}

// readTabs returns the tabs for reading, after the front, and the hidden ones
// of this kind.
func (wb *workbook) readTabs() (shown, hidden []string) {
	if len(wb.m.Limits) > 0 {
		shown = append(shown, limitsTab)
	}
	for _, l := range wb.leaves[1:] {
		shown = append(shown, l.name)
	}
	for _, t := range wb.tables {
		switch {
		case t.t.Library || t.host != nil:
		case wb.aside(t.t.Origin):
			hidden = append(hidden, t.tab)
		default:
			shown = append(shown, t.tab)
		}
	}
	switch {
	case len(wb.m.Charts) == 0:
	case wb.chartsAside():
		hidden = append(hidden, chartsTab)
	default:
		shown = append(shown, chartsTab)
	}
	return shown, hidden
}

// referenceTabs returns the reference tabs.
func (wb *workbook) referenceTabs() []string {
	var tabs []string
	if len(wb.side) > 0 {
		tabs = append(tabs, validityTab)
	}
	tabs = append(tabs, workedTab)
	for _, t := range wb.tables {
		if t.t.Library {
			tabs = append(tabs, t.tab)
		}
	}
	return tabs
}

// stepTabs returns the tabs of steps and of chart data.
func (wb *workbook) stepTabs() []string {
	var tabs []string
	if len(wb.m.Charts) > 0 {
		tabs = append(tabs, chartDataTab)
	}
	if len(wb.steps) > 0 {
		tabs = append(tabs, unquoted(wb.stepsTab))
	}
	return tabs
}

func unquoted(tab string) string {
	return strings.ReplaceAll(strings.Trim(tab, "'"), "''", "'")
}

// properties sets the properties of the workbook and its source text.
func (wb *workbook) properties() error {
	err := wb.f.SetDocProps(&excelize.DocProperties{
		Title: clean(wb.m.Title), Creator: "Gearleaf", LastModifiedBy: "Gearleaf",
		Created: partTime.Format("2006-01-02T15:04:05Z"), Modified: partTime.Format("2006-01-02T15:04:05Z"),
		Description: "Written from a worksheet. Entered values may be changed; everything else follows.",
	})
	if err != nil {
		return err
	}
	if err := wb.f.SetAppProps(&excelize.AppProperties{Application: "Gearleaf"}); err != nil {
		return err
	}
	for _, mark := range append(wb.marks(), [2]string{stampProperty, stampMark}) {
		if err := wb.f.SetCustomProps(excelize.CustomProperty{Name: mark[0], Value: mark[1]}); err != nil {
			return err
		}
	}
	full := true
	return wb.f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &full})
}

// marks identify the worksheet that the workbook was written from. They are
// stored twice, as properties and after the hidden text, because some programs
// drop the properties.
func (wb *workbook) marks() [][2]string {
	sum := sha256.Sum256([]byte(wb.m.Files[0].File.Text))
	return [][2]string{{versionProperty, workbookVersion}, {hashProperty, hex.EncodeToString(sum[:])}}
}

// definedNames names every scalar, column and step. If there are more scalars
// than a spreadsheet allows names, only givens are named, which are read back
// by their names. The library reads all names for each new one, so all but the
// first are inserted directly.
func (wb *workbook) definedNames() error {
	type name struct{ name, ref string }
	var all []name
	for i := range wb.cells {
		if c := wb.cells[i]; c.row != 0 && !c.rounded && (wb.m.Cells[i].Given || !wb.direct) {
			all = append(all, name{c.name, c.leaf.quoted + "!" + fixed(valueColumn, c.row)})
		}
	}
	for _, t := range wb.tables {
		for i, c := range t.t.Columns {
			all = append(all, name{t.names[t.column(i)], place(t.whole(c), "", 0)})
		}
		for _, step := range t.steps {
			if step.name != "" {
				all = append(all, name{step.name, place(t.stepRange(step.column), "", 0)})
			}
		}
	}
	last := limitsHead + len(wb.m.Limits) + 1
	for _, column := range slices.Sorted(maps.Keys(wb.limitNames)) {
		if len(wb.m.Limits) > 0 {
			all = append(all, name{wb.limitNames[column], limitsTab + "!" + fixed(column, limitsHead+1) + ":" + fixed(column, last)})
		}
	}
	for i, step := range wb.steps {
		if step.name != "" {
			all = append(all, name{step.name, wb.stepPlace(i)})
		}
	}
	if len(all) == 0 {
		return nil
	}
	if err := wb.f.SetDefinedName(&excelize.DefinedName{Name: all[0].name, RefersTo: all[0].ref}); err != nil {
		return err
	}
	list := extend(wb.f.WorkBook.DefinedNames.DefinedName, len(all)-1)
	for i, n := range all[1:] {
		list[len(list)-len(all)+1+i].Name = n.name
		list[len(list)-len(all)+1+i].Data = n.ref
	}
	wb.f.WorkBook.DefinedNames.DefinedName = list
	return nil
}

// extend returns s with n more entries.
func extend[T any](s []T, n int) []T { return append(s, make([]T, n)...) }

// value returns the cell of a quantity: its formula, if any, with the cached
// value v.
func (wb *workbook) value(q *check.Quantity, v sheet.Value, formula string, style int) excelize.Cell {
	c := excelize.Cell{StyleID: style, Formula: formula}
	switch {
	case formula != "":
		c.Value = wb.cachedValue(q, v)
	case v.IsFault():
		c.Formula, c.Value = "NA()", wb.cachedValue(q, v)
	case v.IsBlank():
	case q.Type.Form == check.Text:
		c.Value = clean(wb.m.Texts[int(v.V)])
	case q.Type.Form == check.Truth:
		c.Value = yesNo(v.V)
	default:
		// As typed, without the noise of the conversion to SI and back.
		c.Value = cellUnit(q.Unit).Clean(v.V)
	}
	return c
}

// cachedValue returns the value v of q for the cell of a formula.
func (wb *workbook) cachedValue(q *check.Quantity, v sheet.Value) cachedValue {
	switch {
	case v.IsFault():
		return cachedValue{kind: 'e', text: wb.faultText(v)}
	case v.IsBlank():
		return cachedValue{kind: 's'}
	case q.Type.Form == check.Text:
		return cachedValue{kind: 's', text: clean(wb.m.Texts[int(v.V)])}
	case q.Type.Form == check.Truth:
		return cachedValue{kind: 's', text: yesNo(v.V)}
	}
	return cachedValue{kind: 'n', number: cellUnit(q.Unit).Number(v.V)}
}

// maxExplained is the number of faults that are explained.
const maxExplained = 200

// faultText returns the error that a spreadsheet shows for a fault.
func (wb *workbook) faultText(v sheet.Value) string {
	wb.explained++
	if wb.explained > maxExplained {
		return "#N/A"
	}
	fault := v.Fault()
	if fault == nil {
		return "#N/A"
	}
	switch cause := fault.Cause; {
	case strings.Contains(cause, "division by zero"), strings.Contains(cause, "divides by zero"):
		return "#DIV/0!"
	case strings.Contains(cause, "root of"), strings.Contains(cause, "too large"), strings.Contains(cause, "negative number"):
		return "#NUM!"
	}
	return "#N/A"
}

// shown returns a value in its shown unit; a NaN if it is not a number.
func (wb *workbook) shown(q *check.Quantity, v sheet.Value) float64 {
	if v.IsFault() || v.IsBlank() || q.Type.Form != check.Number {
		return math.NaN()
	}
	return shownUnit(q.Unit).Number(v.V)
}

// protect locks a tab's formulas, without a password, so anyone can remove the
// protection.
func (wb *workbook) protect(tab string) error {
	return wb.f.ProtectSheet(tab, &excelize.SheetProtectionOptions{
		SelectLockedCells: true, SelectUnlockedCells: true, FormatColumns: true, FormatRows: true, FormatCells: true,
	})
}
