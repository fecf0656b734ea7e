package export

import (
	"archive/zip"
	"bytes"
	"cmp"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// program is another program that computes workbooks.
type program interface {
	name() string
	// skips reports whether the program cannot compute a case as we do.
	skips(c *changedCase) bool
	// compute changes the fields of the workbook in a file as a case says; dir is
	// for its own files.
	compute(c *changedCase, in, dir string) outcome
}

// outcome is what a program has computed.
type outcome struct {
	values string // a file of all values, if not the workbook that it saved
	saved  string // the workbook that it saved, if it did
	err    error
}

// otherPrograms starts those that are installed; where everything is required,
// these are all.
func otherPrograms(t *testing.T) []program {
	t.Helper()
	var programs []program
	if _, err := exec.LookPath("soffice"); err == nil || outside.Required() {
		for _, locale := range []string{"en-US", "de-DE"} {
			programs = append(programs, startOffice(t, locale, changeInOffice))
		}
	}
	if _, err := exec.LookPath("ssconvert"); err == nil || outside.Required() {
		programs = append(programs, gnumeric(tool(t, "ssconvert")))
	}
	if len(programs) == 0 {
		outside.Missing(t, "neither LibreOffice nor gnumeric is installed: nothing was changed in another program")
	}
	return programs
}

// changeInOffice changes fields as a person would, and lets what depends on them
// follow. A line of its input is `open in.xlsx`, `number tab place value`, `text tab
// place value`, `save out.xlsx` or `values out.json`, with tabs in between. The last
// writes what all cells hold, puts the fields back, and answers.
const changeInOffice = `
import json
from com.sun.star.table.CellContentType import TEXT
book, undo = None, []
def put(cell, kind, value):
    if kind == "number":
        cell.Value = float(value)
    else:
        cell.String = value
def held(sheet):
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    end = cursor.RangeAddress
    return sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow).getDataArray()
for line in sys.stdin:
    words = line.rstrip("\n").split("\t")
    if words[0] == "open":
        if book:
            book.close(True)
        book = load(words[1], prop("Hidden", True))
        fresh = True # it computes after each field, as for a person, and nothing else
    elif words[0] == "save":
        if not fresh:
            book.calculateAll()
        book.storeToURL("file://" + words[1], (prop("FilterName", "Calc MS Excel 2007 XML"),))
    elif words[0] == "values":
        if not fresh:
            book.calculateAll()
        with open(words[1], "w") as out:
            json.dump({sheet.Name: held(sheet) for sheet in book.Sheets}, out)
        book.enableAutomaticCalculation(False) # the next cases compute once
        fresh = False
        for cell, kind, value in undo:
            put(cell, kind, value)
        undo = []
        print("done", flush=True)
    else:
        cell = book.Sheets.getByName(words[1]).getCellRangeByName(words[2])
        if cell.Type == TEXT:
            undo.append((cell, "text", cell.String))
        else:
            undo.append((cell, "number", cell.Value))
        put(cell, words[0], words[3])
if book:
    book.close(True)
`

func (o *office) name() string { return "LibreOffice " + o.locale }

func (o *office) skips(*changedCase) bool { return false }

func (o *office) compute(c *changedCase, in, dir string) outcome {
	var script strings.Builder
	if own := filepath.Join(dir, filepath.Base(in)); o.opened != own {
		if err := os.Link(in, own); err != nil { // it locks the opened file
			return outcome{err: err}
		}
		fmt.Fprintf(&script, "open\t%s\n", own)
		o.opened = own
	}
	for _, change := range c.changes {
		fmt.Fprintln(&script, strings.Join(change.field[:], "\t"))
	}
	var made outcome
	if c.saved {
		made.saved = filepath.Join(dir, c.name()+".xlsx")
		fmt.Fprintf(&script, "save\t%s\n", made.saved)
	}
	made.values = filepath.Join(dir, c.name()+".json")
	fmt.Fprintf(&script, "values\t%s\n", made.values)
	_, errIn := io.WriteString(o.in, script.String())
	if _, errOut := o.out.ReadString('\n'); errIn != nil || errOut != nil {
		_, err := o.finish()
		made.err = errors.Join(err, errIn, errOut)
	}
	return made
}

// gnumeric is the path of its ssconvert: no other program can operate gnumeric, so
// that the fields are changed in the file.
type gnumeric string

func (gnumeric) name() string { return "gnumeric" }

// skips reports whether longer numbers, with which gnumeric computes, make a
// difference: where we overflow it has a value, and 0.1 + 0.2 is 0.3 there.
func (gnumeric) skips(c *changedCase) bool {
	return c.sample.name == "signs" || c.byChance() && tooLarge(c.after)
}

func (g gnumeric) compute(c *changedCase, in, dir string) outcome {
	data, err := os.ReadFile(in)
	if err != nil {
		return outcome{err: err}
	}
	if data, err = withFields(data, c.changes); err != nil {
		return outcome{err: err}
	}
	changed, saved := filepath.Join(dir, "in.xlsx"), filepath.Join(dir, c.name()+".xlsx")
	if err := os.WriteFile(changed, data, 0o644); err != nil {
		return outcome{err: err}
	}
	if msg, err := exec.Command(string(g), "--recalc", changed, saved).CombinedOutput(); err != nil {
		return outcome{err: fmt.Errorf("%w\n%s", err, msg)}
	}
	return outcome{saved: saved}
}

// withFields returns a workbook with other fields.
func withFields(data []byte, changes []change) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	parts, _, err := tabParts(z)
	if err != nil {
		return nil, err
	}
	fields := map[string][]change{}
	for _, c := range changes {
		fields[parts[c.field[1]]] = append(fields[parts[c.field[1]]], c)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		if err := copyPart(w, z, f, fields[f.Name]); err != nil {
			return nil, err
		}
	}
	err = w.Close()
	return out.Bytes(), err
}

// copyPart copies a part, with other fields if there are any.
func copyPart(w *zip.Writer, z *zip.Reader, f *zip.File, changes []change) error {
	if len(changes) == 0 {
		return w.Copy(f)
	}
	part, err := readPart(z, f.Name)
	if err != nil {
		return err
	}
	changed, err := changedPart(string(part), changes)
	if err != nil {
		return err
	}
	into, err := w.Create(f.Name)
	if err != nil {
		return err
	}
	_, err = io.WriteString(into, changed)
	return err
}

// changedPart returns a tab's part with other fields. Each keeps its style.
func changedPart(part string, changes []change) (string, error) {
	for _, c := range changes {
		before, cell, found := strings.Cut(part, `<c r="`+c.field[2]+`"`)
		if !found {
			return "", fmt.Errorf("%s!%s is not there", c.field[1], c.field[2])
		}
		tag, rest, _ := strings.Cut(cell, ">")
		if !strings.HasSuffix(tag, "/") {
			_, rest, _ = strings.Cut(rest, "</c>")
		}
		var text strings.Builder
		if err := xml.EscapeText(&text, []byte(c.field[3])); err != nil {
			return "", err
		}
		kind, held := "", "<v>"+text.String()+"</v>"
		if c.field[0] == "text" {
			kind, held = ` t="inlineStr"`, "<is><t>"+text.String()+"</t></is>"
		}
		part = fmt.Sprintf(`%s<c r="%s" s="%s"%s>%s</c>%s`, before, c.field[2], attribute(tag, "s"), kind, held, rest)
	}
	return part, nil
}

// readValues returns the values of all cells.
func readValues(t *testing.T, made outcome) grid {
	t.Helper()
	data, err := os.ReadFile(cmp.Or(made.values, made.saved))
	if err != nil {
		t.Fatal(err)
	}
	if made.values == "" {
		return readGrid(t, data)
	}
	var tabs map[string][][]any
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	if err := d.Decode(&tabs); err != nil {
		t.Fatal(err)
	}
	g := grid{}
	for tab, rows := range tabs {
		g[tab] = map[string]field{}
		for y, row := range rows {
			for x, v := range row {
				g[tab][at(x+1, y+1)] = heldField(v)
			}
		}
	}
	return g
}

// heldField returns the field of a value; of an error LibreOffice gives none.
func heldField(v any) field {
	switch v := v.(type) {
	case json.Number:
		return field{kind: "n", value: strings.TrimSuffix(v.String(), ".0")}
	case string:
		return field{kind: "str", value: v}
	}
	return field{kind: "e", value: "#"}
}
