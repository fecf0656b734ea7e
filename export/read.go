package export

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// errForeign says that a workbook holds no worksheet.
var errForeign = errors.New("it holds no worksheet: only a workbook that Gearleaf has written can be read")

// Returned is a workbook that was written from a worksheet and returned.
type Returned struct {
	// Sheet is the worksheet as it was when the workbook was written.
	Sheet *sheet.Sheet
	// Entries are the givens whose fields hold another value than that text.
	Entries []Entry
	// Notes are changes of the workbook other than entries that have no effect.
	Notes []string
	// Problems are changes because of which its values cannot be read, such as
	// a changed formula.
	Problems []string

	texts []sheet.Text
}

// Entry is a field that was changed.
type Entry struct {
	Place sheet.Place
	// Setting is the content of the field; if Refused is not empty, it is the
	// reason why the content cannot be the value of the given.
	Setting sheet.Setting
	Refused string
	// Asked says that the value was refused because it is ambiguous; Accept
	// accepts it.
	Asked bool
	Tab   string // where the field is
	Field string

	text string // the value in the notation of the worksheet
}

// Accept accepts the ambiguous values of the named givens.
func (b *Returned) Accept(names []string) error {
	for _, name := range names {
		found := false
		for i := range b.Entries {
			if e := &b.Entries[i]; e.Asked && e.Place.Name() == name {
				e.Refused, e.Asked, found = "", false, true
			}
		}
		if !found {
			return fmt.Errorf("nothing was asked about %s", name)
		}
	}
	return nil
}

// ReadWorkbook restores a sheet from a workbook that was written from it: the
// worksheet's text is in the workbook, and the givens have the present values
// of their fields. The Sheet is nil when the list holds an error.
func ReadWorkbook(path string) (*sheet.Sheet, diag.List, error) {
	back, list, err := OpenReturned(path, nil)
	if err != nil || back == nil {
		return nil, list, err
	}
	if len(back.Problems) > 0 {
		return nil, list, fmt.Errorf("%s: %s", path, few(back.Problems))
	}
	for _, e := range back.Entries {
		if e.Refused != "" {
			return nil, list, fmt.Errorf("%s: %s!%s: %s", path, e.Tab, e.Field, e.Refused)
		}
		back.Sheet.Set(e.Setting)
	}
	return back.Sheet, list, nil
}

// WorkbookText returns the worksheet's exact text from a workbook.
func WorkbookText(path string) (string, error) {
	_, texts, err := openTexts(path)
	if err != nil {
		return "", err
	}
	return texts[0].Text, nil
}

// WorkbookTexts returns the exact texts of the worksheet and all it uses from a
// workbook; the worksheet comes first, and names are relative to its folder.
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

// unwritable returns why a text from a workbook is not written under its name:
// a workbook from an unknown source must not be able to put a file where a
// shell or another program reads it.
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

// openTexts opens a workbook and extracts the worksheets that it was written
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

// OpenReturned reads a workbook that was written from a worksheet. present may
// be that worksheet as it is now: if its text is unchanged, it has the files of
// the tables, which a workbook does not contain. Without an error the Returned
// is nil when the list holds one.
func OpenReturned(path string, present *sheet.Sheet) (*Returned, diag.List, error) {
	book, texts, err := openTexts(path)
	if err != nil {
		return nil, nil, err
	}
	s, list := present, diag.List(nil)
	if s == nil || !sameTexts(texts, s) {
		if s, list = sheet.FromTexts(texts); s == nil {
			return nil, list, nil
		}
		s.Path = path
	}
	r, err := s.Compute()
	if err != nil {
		return nil, list, err
	}
	fresh, err := writtenAnew(s, r)
	if err != nil {
		return nil, list, err
	}
	in := fieldReader{book: book, s: s, survey: newSurvey(newBook(s, r), fresh, book)}
	in.read()
	in.compare()
	return &Returned{Sheet: s, Entries: in.entries, Notes: in.survey.notes, Problems: in.survey.problems, texts: texts}, list, nil
}

// writtenAnew returns a new workbook of a sheet.
func writtenAnew(s *sheet.Sheet, r *sheet.Result) (*opened, error) {
	var out strings.Builder
	if _, err := writeWorkbook(&out, s, r, Options{}); err != nil {
		return nil, err
	}
	return readBook(strings.NewReader(out.String()), int64(out.Len()))
}

// isSource reports whether a tab holds the worksheet's text.
func isSource(t tabContent) bool { return t.name == sourceTab }

// sourceTexts reads the worksheets from the hidden tab, and compares the hash
// of the first. The marks are in the properties of the workbook and, because
// some programs drop these, in the hidden tab.
func sourceTexts(book *opened) ([]sheet.Text, error) {
	fields := book.tab(sourceTab)
	marks := keptMarks(fields)
	hash, version := cmp.Or(book.props[hashProperty], marks[hashProperty]), cmp.Or(book.props[versionProperty], marks[versionProperty])
	switch {
	case fields == nil && hash == "":
		return nil, errForeign
	case fields == nil:
		return nil, errors.New("the hidden tab with its worksheet was deleted: it cannot be read back")
	case hash == "" || version == "":
		return nil, errors.New("the marks that identify its worksheet are missing: it cannot be read back")
	case version != workbookVersion:
		return nil, fmt.Errorf("its layout is version %s; this Gearleaf reads version %s: export the worksheet again", version, workbookVersion)
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

// keptMarks reads the marks after the texts.
func keptMarks(fields map[string]content) map[string]string {
	marks := map[string]string{}
	row := 1
	for fields[at(1, row)].value != "" {
		row++
	}
	for row++; fields[at(1, row)].value != ""; row++ {
		marks[fields[at(1, row)].value] = fields[at(2, row)].value
	}
	return marks
}

// keptTexts joins the texts from their lines.
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
func (b *Returned) SameText(s *sheet.Sheet) bool { return sameTexts(b.texts, s) }

func sameTexts(texts []sheet.Text, s *sheet.Sheet) bool {
	if len(texts) != len(s.Model.Files) {
		return false
	}
	for i, tree := range s.Model.Files {
		if tree.File.Text != texts[i].Text {
			return false
		}
	}
	return true
}
