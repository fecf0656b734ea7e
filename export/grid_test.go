package export

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// grid is a workbook as it lies in the file: by tab and place.
type grid map[string]map[string]field

// field is one cell: its type, formula and cached value; array says that the
// formula computes with whole ranges.
type field struct {
	kind, formula, value string
	array                bool
	hidden               bool // its tab is, or its column
}

// readGrid reads a workbook. Its tabs are scanned, not decoded: some hold 300,000
// cells, which encoding/xml takes a second for.
func readGrid(t testing.TB, data []byte) grid {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var shared struct {
		Items []struct {
			Text string   `xml:"t"`
			Runs []string `xml:"r>t"`
		} `xml:"si"`
	}
	if err := decodePart(z, "xl/sharedStrings.xml", &shared); err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	var texts []string
	for _, item := range shared.Items {
		texts = append(texts, item.Text+strings.Join(item.Runs, ""))
	}
	g := grid{}
	parts, hidden, err := tabParts(z)
	if err != nil {
		t.Fatal(err)
	}
	for name, part := range parts {
		data, err := readPart(z, part)
		if err != nil {
			t.Fatal(err)
		}
		g[name] = scanTab(t, string(data), texts, hidden[name])
	}
	return g
}

// hiddenColumns returns the numbers of the columns of a tab that are hidden.
func hiddenColumns(part string) map[int]bool {
	hidden := map[int]bool{}
	list, _, _ := strings.Cut(part, "<sheetData>")
	for _, tag := range strings.Split(list, "<col ")[1:] {
		tag, _, _ = strings.Cut(tag, ">")
		if h := attribute(tag, "hidden"); h != "1" && h != "true" {
			continue
		}
		first, _ := strconv.Atoi(attribute(tag, "min"))
		last, _ := strconv.Atoi(attribute(tag, "max"))
		for column := first; column <= last; column++ {
			hidden[column] = true
		}
	}
	return hidden
}

// tabParts returns the part of every tab, and which tabs are hidden.
func tabParts(z *zip.Reader) (parts map[string]string, hidden map[string]bool, err error) {
	var book struct {
		Sheets []struct {
			Name  string `xml:"name,attr"`
			State string `xml:"state,attr"`
			ID    string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
		} `xml:"sheets>sheet"`
	}
	var rels struct {
		All []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if err := errors.Join(decodePart(z, "xl/workbook.xml", &book), decodePart(z, "xl/_rels/workbook.xml.rels", &rels)); err != nil {
		return nil, nil, err
	}
	target := map[string]string{}
	for _, r := range rels.All {
		target[r.ID] = "xl/" + strings.TrimPrefix(strings.TrimPrefix(r.Target, "/xl/"), "xl/")
	}
	parts, hidden = map[string]string{}, map[string]bool{}
	for _, s := range book.Sheets {
		parts[s.Name], hidden[s.Name] = target[s.ID], s.State != "" && s.State != "visible"
	}
	return parts, hidden, nil
}

// scanTab returns the cells of a tab.
func scanTab(t testing.TB, part string, texts []string, hidden bool) map[string]field {
	t.Helper()
	columns := hiddenColumns(part)
	cells := map[string]field{}
	repeats := map[string][2]string{}
	_, rest, _ := strings.Cut(part, "<sheetData>")
	for {
		i := strings.Index(rest, "<c ")
		if i < 0 {
			return cells
		}
		tag, body, _ := strings.Cut(rest[i+len("<c "):], ">")
		rest = body
		ref := attribute(tag, "r")
		f := field{kind: attribute(tag, "t"), hidden: hidden}
		if c, ok := parseCell(ref); ok {
			f.hidden = hidden || columns[c.column]
		}
		if !strings.HasSuffix(tag, "/") {
			body, rest, _ = strings.Cut(body, "</c>")
			f.scan(t, ref, body, texts, repeats)
		}
		cells[ref] = f
	}
}

// scan reads what a cell holds; repeats are the formulas that cells share, each
// with the place where it is written.
func (f *field) scan(t testing.TB, ref, body string, texts []string, repeats map[string][2]string) {
	t.Helper()
	if tag, formula, ok := element(body, "f"); ok {
		kind, key := attribute(tag, "t"), attribute(tag, "si")
		f.formula, f.array = formula, kind == "array"
		switch {
		case kind == "shared" && formula != "":
			repeats[key] = [2]string{ref, formula}
		case kind == "shared":
			f.formula = movedTo(t, repeats[key], ref)
		}
	}
	_, f.value, _ = element(body, "v")
	switch f.kind {
	case "s":
		i, err := strconv.Atoi(f.value)
		if err != nil || i >= len(texts) {
			t.Fatalf("%s shares the text %q", ref, f.value)
		}
		f.value = texts[i]
	case "inlineStr":
		_, f.value, _ = element(body, "t")
	}
}

// element returns the tag and the text of the first element of a name that holds
// no other.
func element(body, name string) (tag, text string, ok bool) {
	i := strings.Index(body, "<"+name)
	if i < 0 {
		return "", "", false
	}
	tag, rest, _ := strings.Cut(body[i+1+len(name):], ">")
	if strings.HasSuffix(tag, "/") {
		return tag, "", true
	}
	text, _, _ = strings.Cut(rest, "</")
	if strings.Contains(text, "&") {
		text = html.UnescapeString(text)
	}
	return tag, text, true
}

// attribute returns the value of a tag's attribute.
func attribute(tag, name string) string {
	for s := tag; s != ""; {
		before, after, found := strings.Cut(s, `="`)
		if !found {
			return ""
		}
		value, rest, _ := strings.Cut(after, `"`)
		if strings.TrimSpace(before) == name {
			return value
		}
		s = rest
	}
	return ""
}

// movedTo returns a shared formula, as it is in another place.
func movedTo(t testing.TB, first [2]string, ref string) string {
	t.Helper()
	from, ok := parseCell(first[0])
	to, ok2 := parseCell(ref)
	if !ok || !ok2 {
		t.Fatalf("%s shares the formula of %q", ref, first[0])
	}
	return movedFormula(first[1], to.column-from.column, to.row-from.row)
}

// decodePart reads a part.
func decodePart(z *zip.Reader, name string, into any) error {
	data, err := readPart(z, name)
	if err != nil {
		return err
	}
	if err := xml.Unmarshal(data, into); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

func readPart(z *zip.Reader, name string) ([]byte, error) {
	f, err := z.Open(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	return io.ReadAll(f)
}

// places returns the places of a tab in a stable order.
func (g grid) places(tab string) []string { return slices.Sorted(maps.Keys(g[tab])) }

func (g grid) tabs() []string { return slices.Sorted(maps.Keys(g)) }
