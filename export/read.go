package export

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
)

// errForeign says that a workbook holds no worksheet.
var errForeign = errors.New("it holds no worksheet: only a workbook that Gearleaf has written can be read")

// ReadWorkbook makes a sheet again from a workbook that was written from it:
// the worksheet's text is in the workbook, and the givens have the values that
// stand in their fields now. The Sheet is nil when the list holds an error.
func ReadWorkbook(path string) (*sheet.Sheet, diag.List, error) {
	f, err := excelize.OpenFile(path)
	if err != nil {
		return nil, nil, fmt.Errorf("%s cannot be read as a workbook: %w", path, err)
	}
	defer func() { _ = f.Close() }()
	texts, err := sourceTexts(f)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	s, list := sheet.FromTexts(texts)
	if s == nil {
		return nil, list, nil
	}
	s.Path = path
	r, err := s.Compute()
	if err != nil {
		return nil, list, err
	}
	in := fieldReader{f: f, s: s, refs: map[string]string{}}
	for _, n := range f.GetDefinedName() {
		in.refs[n.Name] = n.RefersTo
	}
	if err := in.read(newBook(s, r)); err != nil {
		return nil, list, fmt.Errorf("%s: %w", path, err)
	}
	return s, list, nil
}

// sourceTexts reads the worksheets out of the hidden tab.
func sourceTexts(f *excelize.File) ([]sheet.Text, error) {
	rows, err := f.Rows(sourceTab)
	if err != nil {
		return nil, errForeign
	}
	defer func() { _ = rows.Close() }()
	var names []string
	lines := map[string][]string{}
	for rows.Next() {
		cells, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, err
		}
		if len(cells) == 0 {
			continue
		}
		if lines[cells[0]] == nil {
			names = append(names, cells[0])
		}
		lines[cells[0]] = append(lines[cells[0]], strings.Join(cells[1:], ""))
	}
	if len(names) == 0 {
		return nil, errForeign
	}
	var texts []sheet.Text
	for _, name := range names {
		texts = append(texts, sheet.Text{Name: name, Text: strings.Join(lines[name], "\n")})
	}
	return texts, nil
}

// fieldReader takes the givens' values from their fields.
type fieldReader struct {
	f    *excelize.File
	s    *sheet.Sheet
	refs map[string]string // what the workbook's names refer to
}

// read takes every given of b whose field holds another value than the text.
func (in *fieldReader) read(b *book) error {
	for i := range b.cells {
		c := in.s.Model.Cells[i]
		if b.cells[i].row == 0 || !c.Given || c.Plugged {
			continue
		}
		if err := in.field(b.cells[i].name, 0, c.Name, &c.Quantity, c.Value); err != nil {
			return err
		}
	}
	for _, t := range b.tables {
		for i, c := range t.t.Columns {
			if !c.Given || t.t.Library || t.t.Decl.From != nil {
				continue
			}
			for row, v := range c.Values {
				name := fmt.Sprintf("%s.%s[%d]", t.t.Name, c.Name, row+1)
				if err := in.field(t.names[i+2], row, name, &c.Quantity, v); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// field takes one value, the row-th of what the workbook's name refers to, for
// the given, which has v in the text.
func (in *fieldReader) field(ref string, row int, given string, q *check.Quantity, v float64) error {
	tab, cell, ok := split(in.refs[ref], row)
	if !ok {
		return fmt.Errorf("the field of %s is not where it was", given)
	}
	text, err := in.f.GetCellValue(tab, cell, excelize.Options{RawCellValue: true})
	if err != nil {
		return err
	}
	if text == "" || text == in.written(q, v) {
		return nil
	}
	set, d := in.s.ParseSetting(given + "=" + in.quantity(q, text))
	if d != nil {
		return fmt.Errorf("%s!%s: %s", tab, cell, d.Message)
	}
	in.s.Set(set)
	return nil
}

// split returns the tab and the row-th cell of a reference, 'Tab'!$C$5:$C$9.
func split(ref string, row int) (tab, cell string, ok bool) {
	tab, place, ok := strings.Cut(ref, "!")
	if quote := strings.LastIndex(ref, "'!"); quote > 0 {
		tab, place = strings.ReplaceAll(ref[1:quote], "''", "'"), ref[quote+2:]
	}
	first, _, _ := strings.Cut(strings.ReplaceAll(place, "$", ""), ":")
	column, at, err := excelize.CellNameToCoordinates(first)
	if !ok || err != nil {
		return "", "", false
	}
	cell, err = excelize.CoordinatesToCellName(column, at+row)
	return tab, cell, err == nil
}

// written is how the workbook writes v where nobody has changed it.
func (in *fieldReader) written(q *check.Quantity, v float64) string {
	switch {
	case v != v:
		return ""
	case q.Type.Form == check.Text:
		return clean(in.s.Model.Texts[int(v)])
	case q.Type.Form == check.Truth:
		return strconv.Itoa(int(v))
	}
	return strconv.FormatFloat(shownUnit(q.Unit).Shown(v), 'f', -1, 64)
}

// quantity is a field's text as a worksheet writes it.
func (in *fieldReader) quantity(q *check.Quantity, text string) string {
	switch q.Type.Form {
	case check.Text:
		return syntax.Quote(text)
	case check.Truth:
		if text == "1" || strings.EqualFold(text, "true") {
			return "yes"
		}
		return "no"
	}
	return text
}
