package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/check"
)

// strictCSV reads RFC 4180 as its grammar says and nothing else: lines end in
// CR LF, a quote is only at the ends of a field or doubled within a quoted one,
// and every record has as many fields as the first.
func strictCSV(text, separator string) (records [][]string, err error) {
	record := []string{}
	for text != "" {
		field, rest, err := strictField(text, separator)
		if err != nil {
			return nil, fmt.Errorf("record %d: %w", len(records)+1, err)
		}
		record = append(record, field)
		if next, ended := strings.CutPrefix(rest, "\r\n"); ended {
			if len(records) > 0 && len(record) != len(records[0]) {
				return nil, fmt.Errorf("record %d has %d fields, the first %d", len(records)+1, len(record), len(records[0]))
			}
			records, record, text = append(records, record), nil, next
			continue
		}
		next, more := strings.CutPrefix(rest, separator)
		if !more {
			return nil, fmt.Errorf("record %d: %.20q follows a field", len(records)+1, rest)
		}
		text = next
	}
	if len(record) > 0 {
		return nil, fmt.Errorf("the last line has no end")
	}
	return records, nil
}

// strictField reads one field and returns what follows it.
func strictField(text, separator string) (field, rest string, err error) {
	if !strings.HasPrefix(text, `"`) {
		end := strings.IndexAny(text, separator+"\r\n")
		if end < 0 {
			return "", "", fmt.Errorf("a field without an end")
		}
		if strings.Contains(text[:end], `"`) {
			return "", "", fmt.Errorf("a quote within %q", text[:end])
		}
		return text[:end], text[end:], nil
	}
	var b strings.Builder
	for text = text[1:]; ; {
		end := strings.IndexByte(text, '"')
		if end < 0 {
			return "", "", fmt.Errorf("a quoted field without an end")
		}
		b.WriteString(text[:end])
		text = text[end+1:]
		if !strings.HasPrefix(text, `"`) {
			return b.String(), text, nil
		}
		b.WriteByte('"')
		text = text[1:]
	}
}

// TestStrictCSVIsStrict shows the reader files that it must refuse.
func TestStrictCSVIsStrict(t *testing.T) {
	for _, text := range []string{"a,b\n", "a,b", "a\r\nb,c\r\n", "a\"b\r\n", "\"a\"b\r\n", "\"a\r\n", "a\rb\r\n"} {
		if records, err := strictCSV(text, ","); err == nil {
			t.Errorf("%q was read as %q", text, records)
		}
	}
	records, err := strictCSV("a,\"b\"\"\r\n,\"\r\n,\r\n", ",")
	if want := [][]string{{"a", "b\"\r\n,"}, {"", ""}}; err != nil || !slices.EqualFunc(records, want, slices.Equal) {
		t.Errorf("%q, %v", records, err)
	}
}

// TestCSVIsRead reads every form of CSV with the strict reader. The forms differ
// in the byte order mark, the separator and the decimal sign alone.
func TestCSVIsRead(t *testing.T) {
	awkward := "a : 1.5 \"semicolons; commas, and 'quotes'\"\nb = a / 4\nname : \"x;y\"\nc = 1e300\nlimit b <= 1\n"
	texts := map[string]string{"awkward": awkward}
	for _, name := range []string{"scalars", "tables"} {
		text, err := os.ReadFile("testdata/" + name + ".leaf")
		if err != nil {
			t.Fatal(err)
		}
		texts[name] = string(text)
	}
	for name, text := range texts {
		s := load(t, name, text)
		programs := readCSV(t, s, Options{}, ",")
		for _, c := range []struct{ decimal, separator, point string }{{DecimalPoint, ",", "."}, {DecimalComma, ";", ","}} {
			records := readCSV(t, s, Options{Decimal: c.decimal}, c.separator)
			if len(records) != len(programs) {
				t.Fatalf("%s, %s: %d records, %d for programs", name, c.decimal, len(records), len(programs))
			}
			for i, record := range records {
				for k, field := range record {
					want := programs[i][k]
					if k == 4 && i > 0 && want != "" && strings.Trim(want, "0123456789.e+-") == "" {
						want = strings.Replace(want, ".", c.point, 1)
					}
					if field != want {
						t.Errorf("%s, %s, record %d: %q, want %q", name, c.decimal, i+1, field, want)
					}
				}
			}
		}
	}
}

// TestEveryCSVIsStrict reads what is written of every sample, and of each of its
// tables, in every form, and compares the numbers; then what answers write.
func TestEveryCSVIsStrict(t *testing.T) {
	for _, s := range samples(t) {
		readCSV(t, s, Options{}, ",")
		for _, table := range ownTables(s.s.Model) {
			for _, o := range []Options{{}, {Decimal: DecimalPoint}, {Decimal: DecimalComma}} {
				o.Table = table.Name
				separator := map[bool]string{true: ";", false: ","}[o.Decimal == DecimalComma]
				csvHolds(t, s, table, readCSV(t, s, o, separator), o.Decimal == DecimalComma)
			}
		}
	}
	w := sweepOf(t, 1)
	if records, err := strictCSV(string(sweepBytes(t, ".csv", w)), ","); err != nil || len(records) != 1+301*7*2 {
		t.Errorf("a sweep: %d records, %v", len(records), err)
	}
	var out bytes.Buffer
	awkward := Records{Fields: []Field{{Name: "a", Unit: "mm"}, {Name: "b,\"c\""}}, Rows: [][]any{{1.5, "a\r\nb"}, {nil, "\""}, {nil, nil}, {true, " x "}}}
	if err := WriteRecords(&out, ".csv", awkward, Origin{}); err != nil {
		t.Fatal(err)
	}
	records, err := strictCSV(out.String(), ",")
	want := [][]string{{"a mm", `b,"c"`}, {"1.5", "a\r\nb"}, {"", `"`}, {"", ""}, {"yes", " x "}}
	if err != nil || !slices.EqualFunc(records, want, slices.Equal) {
		t.Errorf("%q, %v", records, err)
	}
}

// csvHolds compares the records of a table with its numbers.
func csvHolds(t *testing.T, s sample, table *check.Table, records [][]string, comma bool) {
	t.Helper()
	live, _ := s.r.Live(table)
	if len(records) != live+1 {
		t.Errorf("%s: %d records of %d rows of %s", s.name, len(records), live, table.Name)
		return
	}
	for i, record := range records[1:] {
		for k, c := range table.Columns {
			f := figureOf(s.s, &c.Quantity, s.r.Entry(c, i))
			if !f.numeric {
				continue
			}
			text := record[k]
			if comma {
				text = strings.Replace(text, ",", ".", 1)
			}
			if got, err := strconv.ParseFloat(text, 64); err != nil || got != f.number {
				t.Errorf("%s: %s.%s[%d] is %q, want %v", s.name, table.Name, c.Name, i+1, record[k], f.number)
				return
			}
		}
	}
}

// readCSV writes and reads a sheet.
func readCSV(t *testing.T, s sample, o Options, separator string) [][]string {
	t.Helper()
	var b bytes.Buffer
	if _, err := writeCSV(&b, s.s, s.r, o); err != nil {
		t.Fatal(err)
	}
	text, marked := strings.CutPrefix(b.String(), "\uFEFF")
	if marked != (o.Decimal != "") {
		t.Errorf("a byte order mark: %v, with --decimal %q", marked, o.Decimal)
	}
	records, err := strictCSV(text, separator)
	if err != nil {
		t.Fatal(err)
	}
	return records
}

// TestMarkdownBeginsWithTheVerdict looks for it right below the title.
func TestMarkdownBeginsWithTheVerdict(t *testing.T) {
	for text, want := range map[string]string{
		"a : 1\nlimit a <= 2\n": "# Worksheet\n\n**The limit is kept**\n",
		"a : 3\nb = 1 / (a - 3)\nlimit a <= 2 \"Too much\"\nlimit a >= 0\n": "# Worksheet\n\n**1 of 2 limits broken; 1 fault**\n\n- broken: Too much: `a <= 2`, 3 &lt;= 2\n- fault: `b`: division by zero\n",
	} {
		s := load(t, "verdict", text)
		var b bytes.Buffer
		if _, err := writeMarkdown(&b, s.s, s.r, Options{}); err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(b.String(), want) {
			t.Errorf("%.300s\nwant\n%s", b.String(), want)
		}
	}
}

// openCSVInOffice opens a file with a separator, a line each, and prints what its
// cells hold.
const openCSVInOffice = `
import json
for line in sys.stdin:
    path, separator = line.rstrip("\n").split("\t")
    # separator, quote, UTF-8, first line, columns, language of the locale, quoted is text, numbers as in the locale
    book = load(path, prop("Hidden", True), prop("FilterName", "Text - txt - csv (StarCalc)"),
        prop("FilterOptions", separator + ",34,76,1,,0,true,true"))
    sheet = book.Sheets.getByIndex(0)
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    end = cursor.RangeAddress
    print(json.dumps(sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow).getDataArray()))
    book.close(True)
`

// TestCSVInLibreOffice opens CSV for spreadsheets in LibreOffice, in the locale that
// it is for: every number arrives as that number.
func TestCSVInLibreOffice(t *testing.T) {
	tables, err := os.ReadFile("testdata/tables.leaf")
	if err != nil {
		t.Fatal(err)
	}
	s := load(t, "tables", string(tables))
	for _, c := range []struct{ locale, decimal, separator, point string }{{"en-US", DecimalPoint, ",", "."}, {"de-DE", DecimalComma, ";", ","}} {
		var text bytes.Buffer
		o := Options{Decimal: c.decimal}
		if _, err := writeCSV(&text, s.s, s.r, o); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "gears.csv")
		if err := os.WriteFile(path, text.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		var held [][]any
		if err := json.Unmarshal([]byte(inOffice(t, c.locale, openCSVInOffice, fmt.Sprintf("%s\t%d\n", path, c.separator[0]))), &held); err != nil {
			t.Fatal(err)
		}
		numbers := 0
		for i, record := range readCSV(t, s, o, c.separator) {
			want, err := strconv.ParseFloat(strings.Replace(record[4], c.point, ".", 1), 64)
			if err != nil {
				continue
			}
			numbers++
			if got := held[i][4]; got != want {
				t.Errorf("%s, record %d: %v, want %v", c.locale, i+1, got, want)
			}
		}
		if numbers < 30 {
			t.Errorf("%s: only %d numbers were compared", c.locale, numbers)
		}
	}
}
