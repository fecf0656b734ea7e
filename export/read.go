package export

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
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

// Returned is a workbook that was written from a worksheet and has come back.
type Returned struct {
	// Sheet is the worksheet as it was when the workbook was written.
	Sheet *sheet.Sheet
	// Entries are the givens whose fields hold another value than that text.
	Entries []Entry

	book  *opened
	texts []sheet.Text
	typed [][2]string // tab and place of fields for entries that hold a formula
}

// Entry is a field that was changed.
type Entry struct {
	Place sheet.Place
	// Setting is what the field holds; where Refused is not empty, that says
	// why it cannot be the value of the given.
	Setting sheet.Setting
	Refused string
	Tab     string // where the field is
	Field   string
}

// ReadWorkbook makes a sheet again from a workbook that was written from it:
// the worksheet's text is in the workbook, and the givens have the values that
// are in their fields now. The Sheet is nil when the list holds an error.
func ReadWorkbook(path string) (*sheet.Sheet, diag.List, error) {
	back, list, err := OpenReturned(path)
	if err != nil || back == nil {
		return nil, list, err
	}
	for _, e := range back.Entries {
		if e.Refused != "" {
			return nil, list, fmt.Errorf("%s: %s!%s: %s", path, e.Tab, e.Field, e.Refused)
		}
		back.Sheet.Set(e.Setting)
	}
	return back.Sheet, list, nil
}

// WorkbookText returns the worksheet's text from a workbook, to the byte.
func WorkbookText(path string) (string, error) {
	_, texts, err := openTexts(path)
	if err != nil {
		return "", err
	}
	return texts[0].Text, nil
}

// WorkbookTexts returns the worksheet and all it uses from a workbook, to the
// byte; the worksheet comes first, and names are relative to its folder.
func WorkbookTexts(path string) ([]sheet.Text, error) {
	_, texts, err := openTexts(path)
	if err != nil {
		return nil, err
	}
	texts = sheet.Beside(texts)
	for _, t := range texts {
		if why := unwritable(t.Name); why != "" {
			return nil, fmt.Errorf("%s: its worksheet %q %s; nothing was written", path, t.Name, why)
		}
	}
	return texts, nil
}

// unwritable says why a text out of a workbook is not written under its name: a
// workbook from an unknown source must not be able to put a file where a shell
// or another program reads it.
func unwritable(name string) string {
	switch {
	case !filepath.IsLocal(filepath.FromSlash(name)):
		return "would be outside the folder of the first"
	case filepath.Ext(name) != ".leaf":
		return "does not end in .leaf"
	case strings.HasPrefix(name, ".") || strings.Contains(name, "/."):
		return "has a hidden name"
	}
	return ""
}

// openTexts opens a workbook and takes out the worksheets that it was written
// from.
func openTexts(path string) (*opened, []sheet.Text, error) {
	book, err := openBook(path)
	if err != nil {
		return nil, nil, fmt.Errorf("%s cannot be read as a workbook: %w", path, err)
	}
	texts, err := sourceTexts(book)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	return book, texts, nil
}

// OpenReturned reads a workbook that was written from a worksheet. Without an
// error the Returned is nil when the list holds one.
func OpenReturned(path string) (*Returned, diag.List, error) {
	book, texts, err := openTexts(path)
	if err != nil {
		return nil, nil, err
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
	back := &Returned{Sheet: s, book: book, texts: texts}
	in := fieldReader{book: book, s: s}
	if err := in.read(newBook(s, r)); err != nil {
		return nil, list, fmt.Errorf("%s: %w", path, err)
	}
	back.Entries, back.typed = in.entries, in.typed
	return back, list, nil
}

// sourceTexts reads the worksheets out of the hidden tab, and holds the first
// against its hash.
func sourceTexts(book *opened) ([]sheet.Text, error) {
	fields := book.tab(sourceTab)
	hash, ours := book.props[hashProperty]
	switch version := book.props[versionProperty]; {
	case fields == nil && !ours:
		return nil, errForeign
	case fields == nil:
		return nil, errors.New("the hidden tab with its worksheet is missing: it cannot be read back")
	case !ours || version == "":
		return nil, errors.New("the properties that tell its worksheet are missing: it cannot be read back")
	case version != workbookVersion:
		return nil, fmt.Errorf("it is laid out in version %s; this Gearleaf reads version %s", version, workbookVersion)
	}
	texts, err := keptTexts(fields)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256([]byte(texts[0].Text))
	if hex.EncodeToString(sum[:]) != hash {
		return nil, errors.New("the worksheet in it is not the one that it was written from: the hidden text was changed or damaged")
	}
	return texts, nil
}

// keptTexts puts the texts together from their lines.
func keptTexts(fields map[string]content) ([]sheet.Text, error) {
	var names []string
	lines := map[string][]string{}
	for row := 1; ; row++ {
		name := fields[at(1, row)].value
		if name == "" {
			break
		}
		if lines[name] == nil {
			names = append(names, name)
		}
		text := ""
		for column := 2; fields[at(column, row)].value != ""; column++ {
			text += fields[at(column, row)].value
		}
		if strings.HasPrefix(text, `"`) {
			plain, err := strconv.Unquote(text)
			if err != nil {
				return nil, fmt.Errorf("row %d of the hidden tab is damaged", row)
			}
			text = plain
		}
		lines[name] = append(lines[name], text)
	}
	if len(names) == 0 {
		return nil, errors.New("the hidden tab holds no worksheet: it is damaged")
	}
	var texts []sheet.Text
	for _, name := range names {
		texts = append(texts, sheet.Text{Name: name, Text: strings.Join(lines[name], "\n")})
	}
	return texts, nil
}

// SameText reports whether the text of s, and of all it uses, is still that
// from which the workbook was written.
func (b *Returned) SameText(s *sheet.Sheet) bool {
	if len(b.texts) != len(s.Model.Files) {
		return false
	}
	for i, tree := range s.Model.Files {
		if tree.File.Text != b.texts[i].Text {
			return false
		}
	}
	return true
}

// ChangedFormulas returns the fields whose formulas are not those that were
// written, as words for people; none where all are.
func (b *Returned) ChangedFormulas() ([]string, error) {
	if _, known := b.book.props[stampProperty]; !known {
		return []string{"the mark that shows changes of formulas is missing"}, nil
	}
	if b.formulas() == b.book.props[stampProperty] {
		return nil, nil
	}
	fresh, err := b.fresh()
	if err != nil {
		return nil, err
	}
	var out []string
	if fresh.props[stampProperty] == b.book.props[stampProperty] {
		out = differing(fresh, b.book)
	}
	if len(out) == 0 {
		out = []string{"a formula was changed, added or taken away"}
	}
	return out, nil
}

// formulas returns the stamp of the formulas in the workbook, but for those
// that are in fields for entries.
func (b *Returned) formulas() string {
	s := b.book.stamp()
	for i, t := range b.book.tabs {
		for _, field := range b.typed {
			if field[0] == t.name {
				var own formulaStamp
				own.add(i+1, field[1], t.fields[field[1]].formula)
				s -= own
			}
		}
	}
	return s.String()
}

// fresh writes the workbook anew and opens it.
func (b *Returned) fresh() (*opened, error) {
	r, err := b.Sheet.Compute()
	if err != nil {
		return nil, err
	}
	var out strings.Builder
	if _, err := writeWorkbook(&out, b.Sheet, r, Options{}); err != nil {
		return nil, err
	}
	return readBook(strings.NewReader(out.String()), int64(out.Len()))
}

// differing lists the fields whose formulas differ.
func differing(a, b *opened) []string {
	var out []string
	for _, t := range a.tabs {
		fields := b.tab(t.name)
		if fields == nil {
			out = append(out, "the tab "+t.name+" is missing")
			continue
		}
		for ref, c := range t.fields {
			if c.formula != "" && plainFormula(fields[ref].formula, 0, 0) != plainFormula(c.formula, 0, 0) {
				out = append(out, t.name+"!"+ref)
			}
		}
	}
	slices.Sort(out)
	return out
}

// fieldReader takes the givens' values from their fields.
type fieldReader struct {
	book    *opened
	s       *sheet.Sheet
	entries []Entry
	typed   [][2]string
}

// read takes every given of b whose field holds another value than the text.
func (in *fieldReader) read(b *book) error {
	for i := range b.cells {
		c := in.s.Model.Cells[i]
		if b.cells[i].row == 0 || !c.Given || c.Plugged {
			continue
		}
		if err := in.field(b.cells[i].name, sheet.Place{Cell: c}, c.Value); err != nil {
			return err
		}
	}
	for _, t := range b.tables {
		for i, c := range t.t.Columns {
			if !c.Given || t.t.Library || t.t.From != "" {
				continue
			}
			for row, v := range c.Values {
				if err := in.field(t.names[i+2], sheet.Place{Column: c, Row: row}, v); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// field takes one value, of the place p, from what the workbook's name ref
// refers to; the text has v there.
func (in *fieldReader) field(ref string, p sheet.Place, v float64) error {
	tab, cell, ok := split(in.book.refs[ref], p.Row)
	fields := in.book.tab(tab)
	if !ok || fields == nil {
		return fmt.Errorf("the field of %s is not where it was", p.Name())
	}
	q, c := p.Quantity(), fields[cell]
	if c.formula != "" {
		in.typed = append(in.typed, [2]string{tab, cell})
	}
	if in.same(q, v, c) {
		return nil
	}
	e := Entry{Place: p, Tab: tab, Field: cell}
	switch {
	case c.kind == "e":
		e.Refused = p.Name() + " holds an error, " + c.value
	case c.value == "" && c.formula != "":
		e.Refused = p.Name() + " holds a formula without its value"
	case c.value == "":
		e.Refused = p.Name() + " was emptied; it needs a value"
	default:
		set, d := in.s.ParseSetting(p.Name() + "=" + typedValue(q, c))
		e.Setting = set
		if d != nil {
			e.Refused = d.Message
		}
	}
	in.entries = append(in.entries, e)
	return nil
}

// same reports whether a field holds what the workbook was written with.
// Spreadsheets give numbers back to 15 digits.
func (in *fieldReader) same(q *check.Quantity, v float64, c content) bool {
	switch {
	case v != v:
		return c.value == ""
	case q.Type.Form == check.Text:
		return c.value == clean(in.s.Model.Texts[int(v)])
	case q.Type.Form == check.Truth:
		return c.value != "" && isTrue(c) == (v != 0)
	}
	number, err := strconv.ParseFloat(c.value, 64)
	return err == nil && c.kind != "inlineStr" && c.kind != "s" && sameNumber(q, v, number)
}

func sameNumber(q *check.Quantity, v, number float64) bool {
	return fifteen(cellUnit(q.Unit).Clean(v)) == fifteen(number)
}

// fifteen writes a number to 15 digits.
func fifteen(v float64) string { return strconv.FormatFloat(v, 'g', 15, 64) }

func isTrue(c content) bool {
	return c.value == "1" || strings.EqualFold(c.value, "true") || strings.EqualFold(c.value, "yes")
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

// typedValue is what a field holds as a worksheet writes it.
func typedValue(q *check.Quantity, c content) string {
	switch {
	case q.Type.Form == check.Text:
		return syntax.Quote(c.value)
	case q.Type.Form == check.Truth && isTrue(c):
		return "yes"
	case q.Type.Form == check.Truth && (c.value == "0" || strings.EqualFold(c.value, "false") || strings.EqualFold(c.value, "no")):
		return "no"
	}
	v, err := strconv.ParseFloat(c.value, 64)
	if err != nil || c.kind == "inlineStr" || c.kind == "s" || c.kind == "str" {
		return syntax.Quote(c.value)
	}
	v = trimmed(v / cellFactor(q.Unit))
	if size := max(v, -v); size != 0 && (size < 1e-6 || size >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
