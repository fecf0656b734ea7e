package export

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet"
)

// partsOf returns the parts of a workbook, and their names in order.
func partsOf(t testing.TB, data []byte) (names []string, parts map[string][]byte) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	parts = map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if parts[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
		names = append(names, f.Name)
	}
	return names, parts
}

func zipped(t testing.TB, names []string, parts map[string][]byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range names {
		if parts[name] == nil {
			continue
		}
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(parts[name]); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const damagedSheet = "title \"Damaged\"\nrear : 41 teeth\nratio = rear / (17 teeth)\n"

// TestDamagedWorkbooks reads workbooks that are not as we wrote them, or were
// made to do harm: each is refused, with the reason.
func TestDamagedWorkbooks(t *testing.T) {
	data, _ := load(t, "damaged", damagedSheet).workbook(t)
	const front = "xl/worksheets/sheet1.xml"
	hidden := hiddenPart(t, data)
	sum := sha256.Sum256([]byte(damagedSheet))
	hash := hex.EncodeToString(sum[:])
	cut := func(part string) func(map[string][]byte) {
		return func(p map[string][]byte) { p[part] = p[part][:len(p[part])/2] }
	}
	swap := func(part, old, text string) func(map[string][]byte) {
		return func(p map[string][]byte) {
			if !bytes.Contains(p[part], []byte(old)) {
				t.Fatalf("%s holds no %q: %s", part, old, p[part])
			}
			p[part] = bytes.Replace(p[part], []byte(old), []byte(text), 1)
		}
	}
	for _, c := range []struct {
		name, want string
		damage     func(map[string][]byte)
	}{
		{"text changed", "was changed or damaged", swap(hidden, "41 teeth", "42 teeth")},
		{"hash changed", "was changed or damaged", swap(customPart, hash, "0"+hash[1:])},
		{"hidden tab away", "the hidden tab", swap("xl/workbook.xml", sourceTab, "Other")},
		{"hidden tab empty", "holds no worksheet", func(p map[string][]byte) { p[hidden] = []byte("<worksheet/>") }},
		{"hidden tab cut", "damaged", cut(hidden)},
		{"front cut", "damaged", cut(front)},
		{"front away", "missing", func(p map[string][]byte) { p[front] = nil }},
		{"another version", "version", swap(customPart, "<vt:lpwstr>2<", "<vt:lpwstr>3<")},
		{"entities", "document type", func(p map[string][]byte) {
			p[front] = append([]byte(`<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>`), p[front]...)
		}},
		{"one long text", "longer than any", func(p map[string][]byte) {
			p[front] = append([]byte("<worksheet>"), bytes.Repeat([]byte("x"), 2*maxMarkup)...)
		}},
		{"bomb", "unpacks to more", func(p map[string][]byte) {
			p[front] = append([]byte("<worksheet>"), bytes.Repeat([]byte("<a/>"), maxUnpacked/4)...)
		}},
		{"deep", "damaged", func(p map[string][]byte) {
			p[front] = []byte(`<worksheet><c r="A1"><v>` + strings.Repeat("<a>", 100_000))
		}},
		{"a text that is not there", "there is no text", func(p map[string][]byte) {
			p[front] = []byte(`<worksheet><row><c r="A1" t="s"><v>99</v></c></row></worksheet>`)
		}},
	} {
		names, parts := partsOf(t, data)
		c.damage(parts)
		refusedBook(t, c.name, zipped(t, names, parts), c.want)
	}
	for _, size := range []int{0, 10, len(data) / 2, len(data) - 1} {
		refusedBook(t, "cut off", data[:size], "cannot be read as a workbook")
	}
}

// hiddenPart returns the part of the tab with the text: the last.
func hiddenPart(t *testing.T, data []byte) string {
	t.Helper()
	names, parts := partsOf(t, data)
	for _, name := range names {
		if strings.HasPrefix(name, "xl/worksheets/sheet") && bytes.Contains(parts[name], []byte(`title "Damaged`)) {
			return name
		}
	}
	t.Fatal("no part holds the text")
	return ""
}

func refusedBook(t *testing.T, name string, data []byte, want string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	back, list, err := OpenReturned(path, nil)
	if back != nil || err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%s: %v (%v), want %q", name, err, list, want)
	}
}

// TestTextsStayInTheFolder reads a workbook whose second worksheet was renamed
// to be outside the folder that its texts are written to.
func TestTextsStayInTheFolder(t *testing.T) {
	s, list := sheet.Load("../templates/saturday.leaf")
	data, _ := computed(t, "saturday", s, list).workbook(t)
	names, parts := partsOf(t, data)
	path := filepath.Join(t.TempDir(), "book.xlsx")
	for _, outside := range []string{"../out.leaf", "/tmp/out.leaf", "a/../../out.leaf"} {
		changed := maps.Clone(parts)
		for name, part := range parts {
			if strings.HasPrefix(name, "xl/worksheets/sheet") {
				changed[name] = bytes.ReplaceAll(part, []byte("templates/wear-and-cost.leaf</t>"), []byte("templates/"+outside+"</t>"))
			}
		}
		if err := os.WriteFile(path, zipped(t, names, changed), 0o644); err != nil {
			t.Fatal(err)
		}
		if texts, err := WorkbookTexts(path); err == nil || !strings.Contains(err.Error(), "outside the folder") {
			t.Errorf("%s: %d texts, %v", outside, len(texts), err)
		}
	}
}

// FuzzOpenBook opens anything without harm: bytes as they are, and the text of
// one part of a sound workbook, which a change of packed bytes never reaches.
func FuzzOpenBook(f *testing.F) {
	data, _ := load(f, "fuzzed", damagedSheet).workbook(f)
	names, parts := partsOf(f, data)
	f.Add(byte(255), data)
	f.Add(byte(255), data[:len(data)/2])
	f.Add(byte(255), []byte("PK"))
	for i, name := range names {
		f.Add(byte(i), parts[name])
	}
	f.Fuzz(func(t *testing.T, which byte, text []byte) {
		data := text
		if int(which) < len(names) {
			changed := maps.Clone(parts)
			changed[names[which]] = text
			data = zipped(t, names, changed)
		}
		book, err := readBook(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			return
		}
		texts, err := sourceTexts(book)
		if err != nil {
			return
		}
		s, _ := sheet.FromTexts(texts)
		if s == nil {
			return
		}
		if r, err := s.Compute(); err == nil {
			if fresh, err := writtenAnew(s, r); err == nil {
				in := fieldReader{book: book, s: s, survey: newSurvey(newBook(s, r), fresh, book)}
				in.read()
				in.compare()
			}
		}
	})
}

// TestChangedFormulaIsNamed changes one formula, in each way that matters.
func TestChangedFormulaIsNamed(t *testing.T) {
	data, _ := load(t, "damaged", damagedSheet).workbook(t)
	for _, c := range [][3]string{
		{">rear_/17</f>", ">rear_/18</f>", "Sheet!B"},
		{`<f t="shared" ref="B5" si="0">rear_/17</f>`, "", "Sheet!B"},
		{">rear_/17</f>", "> REAR_ / 17.0 </f>", ""},
		{"</sheetData>", `<row r="99"><c r="A99"><f>1+1</f></c></row></sheetData>`, ""},
	} {
		names, parts := partsOf(t, data)
		const front = "xl/worksheets/sheet1.xml"
		if !bytes.Contains(parts[front], []byte(c[0])) {
			t.Fatalf("no %s in %s", c[0], parts[front])
		}
		parts[front] = bytes.Replace(parts[front], []byte(c[0]), []byte(c[1]), 1)
		path := filepath.Join(t.TempDir(), "book.xlsx")
		if err := os.WriteFile(path, zipped(t, names, parts), 0o644); err != nil {
			t.Fatal(err)
		}
		back, _, err := OpenReturned(path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(back.Problems, " "); c[2] == "" && got != "" || !strings.Contains(got, c[2]) {
			t.Errorf("%s for %s: %q", c[1], c[0], got)
		}
	}
}
