package export

import (
	"strings"

	"gearleaf/sheet"
)

// documentHead begins the document of an answer about a sheet.
type documentHead struct {
	Format  string    `json:"format"`
	Version int       `json:"version"`
	Title   string    `json:"title"`
	Set     []setJSON `json:"set"`
}

// headOf returns the head of a command's answer about s.
func headOf(command string, s *sheet.Sheet) documentHead {
	return documentHead{Format: "gearleaf " + command, Version: 1, Title: s.Model.Title, Set: setOf(s)}
}

// setJSON is a given that --set has changed.
type setJSON struct {
	Name      string `json:"name"`
	Unit      string `json:"unit,omitempty"`
	Value     any    `json:"value"`
	Worksheet any    `json:"worksheet"` // its value there
}

// setOf returns the givens that --set has changed; the list is never null.
func setOf(s *sheet.Sheet) []setJSON {
	out := []setJSON{}
	for _, o := range s.Overrides() {
		q := o.Quantity()
		out = append(out, setJSON{o.Name(), symbol(q.Unit), plain(s, q, o.Value), plain(s, q, o.Was)})
	}
	return out
}

// SetText names the givens that --set has changed, in a line; it is empty if
// there are none.
func SetText(s *sheet.Sheet) string {
	var parts []string
	for _, o := range s.Overrides() {
		text := o.Name() + " " + s.Text(o.Quantity(), o.Value)
		if o.Was == o.Was {
			text += " (" + s.Text(o.Quantity(), o.Was) + " in the worksheet)"
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ")
}

// setRemark is SetText as a line above the values; it is empty if there are none.
func setRemark(text string) string {
	if text == "" {
		return ""
	}
	return setRemarkBegins + text + "."
}

// setRemarkBegins begins every setRemark: the title of a workbook that is read
// back may have one below it.
const setRemarkBegins = "Exported with "

// setField is the last column of CSV in a run with --set: its text is in every
// line.
const setField = "set"
