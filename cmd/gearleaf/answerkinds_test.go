package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// kindsSheet has a text, a blank, a fault and units that are not SI, and a limit
// that can break.
const kindsSheet = `title "Every kind"
fuel    : "methanol, race"      choice "methanol, race", "=gasoline"
boost   : 14.5 psig ± 0.5 psig  range 10..20
slack   : 1 ± 0.1               range 0..1
tip     : 18.5 degC
wet     : no
state   = if slack > 0.5 then "hot; ""b""" else "cold"
inverse = 1 psid / slack        as psid
depends = inverse * 2           as psid
root    = sqrt(slack - 0.5)
total   = boost + 14.5 psia     as psia
table log
  | time | pressure psig | note   |
  | 1    | 10            | "=a,b" |
  | 2    |               |        |
limit total <= 30 psia "Too much"
`

// kindsPass is a pass whose torque is at fault until two seconds.
const kindsPass = `title "Short pass"
slack : 1 range 0..1
table run rows 40
  time     = 0.1 s * (row - 1)
  speed    = 22.5 mph/s * time                              as mph
  distance = 11.25 mph/s * time ^ 2                         as ft to 1
  torque   = 4.5 lbf.ft * sqrt(plain(time - 1.95 s) / 1 s)  as lbf.ft
log run
  time   : from "t" s
  speed  : from "v" mph
  torque : from "T" lbf.ft
`

// An answerTable is what a file of an answer holds: names with their units, and
// a float64, a string or nil in each row.
type answerTable struct {
	names []string
	rows  [][]any
}

// answerCase is a question whose answer has every kind of value.
type answerCase struct {
	args   []string
	status int
	tab    string // of the workbook
	names  []string
	rows   [][]any
	book   map[string][]any // what a workbook has instead in a column
	plain  func(doc map[string]any) answerTable
}

var kindsCases = map[string]answerCase{
	"sweep": {
		args:   []string{"sweep", "kinds.leaf", "slack=0,1", "boost=14.5,16", "--show", "fuel,wet,state,inverse,depends,root,total,tip,log.pressure[1],log.pressure[2],log.note[1],log.note[2]"},
		status: 1, tab: "Sweep",
		names: []string{"slack", "boost psig", "fuel", "wet", "state", "inverse psid", "depends psid", "total psia", "tip degC", "log.pressure[1] psig", "log.pressure[2] psig", "log.note[1]", "log.note[2]", "limits", "fault"},
		rows: [][]any{
			{0.0, 14.5, "methanol, race", "no", "cold", nil, nil, 29.0, 18.5, 10.0, nil, "=a,b", nil, "kept", "inverse: division by zero; depends: waits on inverse: division by zero; root: the square root of a negative number"},
			{0.0, 16.0, "methanol, race", "no", "cold", nil, nil, 30.5, 18.5, 10.0, nil, "=a,b", nil, "broken: total <= 30 psia", "inverse: division by zero; depends: waits on inverse: division by zero; root: the square root of a negative number"},
			{1.0, 14.5, "methanol, race", "no", `hot; "b"`, 1.0, 2.0, 29.0, 18.5, 10.0, nil, "=a,b", nil, "kept", nil},
			{1.0, 16.0, "methanol, race", "no", `hot; "b"`, 1.0, 2.0, 30.5, 18.5, 10.0, nil, "=a,b", nil, "broken: total <= 30 psia", nil},
		},
		book: map[string][]any{
			"limits": {"kept", "broken", "kept", "broken"}, "fault": {nil, nil, nil, nil},
			"why": {
				"inverse: division by zero; depends: waits on inverse: division by zero; root: the square root of a negative number",
				"total <= 30 psia; inverse: division by zero; depends: waits on inverse: division by zero; root: the square root of a negative number",
				nil, "total <= 30 psia",
			},
		},
		plain: scenarioTable,
	},
	"passes": {
		args: []string{"passes", "list", "book.csv"}, tab: "Passes",
		names: []string{"line", "pass", "sheet", "fuel", "boost psig", "wet", "state", "inverse psid", "root", "tip degC", "log.pressure[2] psig", "log.note[1]", "log.note[2]", "tank A", "tyre", "note", "fault"},
		rows: [][]any{
			{2.0, 1.0, "kinds.leaf", "methanol, race", 14.5, "no", `hot; "b"`, 1.0, 0.707107, 18.5, nil, "=a,b", nil, 2.0, "007", "=1+1", nil},
			{3.0, 2.0, "kinds.leaf", "methanol, race", 14.5, "no", "cold", nil, nil, 18.5, nil, "=a,b", nil, 3.5, nil, nil, "inverse psid, root"},
		},
		plain: passesTable,
	},
	"log": {
		args: []string{"log", "pass.leaf", "run.csv", "--chart", "none"}, tab: "Side by side",
		names: []string{"time s", "speed sheet mph", "speed log mph", "torque sheet lbf.ft", "torque log lbf.ft"},
		rows:  [][]any{{0.0, 0.0, 0.0, nil, 5.0}, {1.0, 22.5, 22.5, nil, 6.0}, {1.2, 27.0, 27.0, nil, nil}, {3.0, 67.5, 67.5, 4.61112784468182, 8.0}},
		plain: loggedTable("Side by side"),
	},
	"compare": {
		args: []string{"compare", "kinds.leaf", "other.leaf"}, status: 1, tab: "Compare",
		names: []string{"kind", "name", "unit", "a", "b", "difference", "percent"},
		rows: [][]any{
			{"given", "fuel", nil, "methanol, race", "=gasoline", nil, nil},
			{"given", "boost", "psig", 14.5, 16.0, 1.5, 10.3448275862069},
			{"given", "slack", nil, 1.0, 0.0, -1.0, -100.0},
			{"result", "state", nil, `hot; "b"`, "cold", nil, nil},
			{"result", "inverse", "psid", 1.0, "fault: division by zero", nil, nil},
			{"result", "total", "psia", 29.0, 30.5, 1.5, 5.17241379310345},
			{"limit", "total <= 30 psia", nil, "kept", "broken", nil, nil},
		},
		plain: comparedTable,
	},
	"solve": {
		args: []string{"solve", "kinds.leaf", "total=29.5", "--by", "boost"}, tab: "Solve",
		names: []string{"kind", "boost psig", "boost to psig", "total psia", "limits"},
		rows:  [][]any{{"solution", 15.0, nil, 29.5, "kept"}},
	},
	"best": {
		args: []string{"best", "kinds.leaf", "--max", "total", "--by", "boost=15,16", "--by", "fuel", "--show", "4"}, tab: "Best",
		names: []string{"place", "boost psig", "fuel", "total psia", "limits"},
		rows:  [][]any{{2.0, 15.0, "=gasoline", 29.5, "kept"}, {3.0, 16.0, "methanol, race", 30.5, "broken: total <= 30 psia"}},
	},
	"spread": {
		args: []string{"spread", "kinds.leaf", "--set", "slack=0", "--show", "inverse,total", "--draws", "100"}, status: 1, tab: "Spread",
		names: []string{"result", "unit", "what", "mean", "low", "share"},
		rows:  [][]any{{"inverse", "psid", "first order", nil, nil, nil}, {"total", "psia", "first order", 29.0, 28.4342071329619, nil}, {"total", "psia", "boost", nil, nil, 1.0}},
	},
	"worth": {
		args: []string{"worth", "kinds.leaf", "boost=1", "--show", "total"}, tab: "Worth",
		names: []string{"row", "total psia", "boost +1 psia"},
		rows:  [][]any{{1.0, 29.0, 1.0}},
	},
}

// TestEveryKindInEveryAnswer writes answers with a text, a blank, a fault and
// units that are not SI, in every format that they have, and reads them again.
func TestEveryKindInEveryAnswer(t *testing.T) {
	writeKinds(t)
	for name, c := range kindsCases {
		t.Run(name, func(t *testing.T) {
			for _, kind := range []string{".csv", ".parquet", ".xlsx", ".json"} {
				if kind == ".json" && c.plain == nil {
					continue
				}
				file := name + kind
				status(t, c.status, append(slices.Clone(c.args), "-o", file)...)
				c.compare(t, file, readAnswer(t, file, c))
			}
		})
	}
}

// TestEveryKindInDraws reads draws again: the numbers are random, what they make
// of a sum is not, and a text cannot be drawn.
func TestEveryKindInDraws(t *testing.T) {
	writeKinds(t)
	const root, blank = "root: the square root of a negative number", "log.pressure[2]: blank"
	for _, kind := range []string{".csv", ".parquet"} {
		file := "draws" + kind
		status(t, 1, "spread", "kinds.leaf", "--set", "slack=0.55", "--show", "inverse,root,total,log.pressure[2]", "--draws", "200", "--drawn", file)
		got := readAnswer(t, file, answerCase{})
		want := []string{"boost psig", "slack", "inverse psid", "root", "total psia", "log.pressure[2] psig", "fault"}
		if kind == ".csv" {
			want = append(want, "set")
		}
		if !slices.Equal(got.names, want) || len(got.rows) != 200 {
			t.Fatalf("%s: %d rows of %q, want 200 of %q", file, len(got.rows), got.names, want)
		}
		faults := 0
		for i, row := range got.rows {
			boost, slack := row[0].(float64), row[1].(float64)
			want := blank
			if slack < 0.5 {
				want = root + "; " + blank
				faults++
			}
			total, inverse := row[4].(float64), row[2].(float64)
			if row[6] != want || (row[3] == nil) != (slack < 0.5) || row[5] != nil || math.Abs(total-boost-14.5) > 1e-12 || math.Abs(inverse*slack-1) > 1e-12 {
				t.Errorf("%s: row %d is %v, want %q", file, i+1, row, want)
			}
		}
		if faults == 0 || faults == 200 {
			t.Errorf("%s: %d of 200 draws are at fault", file, faults)
		}
	}
	status(t, 2, "spread", "kinds.leaf", "--show", "state", "--draws", "200", "--drawn", "texts.csv")
}

// writeKinds writes the sheets, a log and a book of passes into a folder of its
// own.
func writeKinds(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	mustWriteFile(t, "kinds.leaf", kindsSheet)
	mustWriteFile(t, "other.leaf", "use \"kinds.leaf\"\nboost : 16 psig\nslack : 0\nfuel : \"=gasoline\"\n")
	mustWriteFile(t, "pass.leaf", kindsPass)
	log := "t,v,T\n"
	for i := -10; i <= 40; i++ {
		torque := fmt.Sprintf("%.2f", 5+float64(i)/10)
		if i > 10 && i < 15 {
			torque = ""
		}
		log += fmt.Sprintf("%.1f,%.4f,%s\n", float64(i)/10, 2.25*float64(max(i, 0)), torque)
	}
	mustWriteFile(t, "run.csv", log)
	show := "fuel,boost,wet,state,inverse,root,tip,log.pressure[2],log.note[1],log.note[2]"
	status(t, 0, "passes", "add", "book.csv", "kinds.leaf", "--show", show, "tank A=2", "tyre=007", "note==1+1")
	status(t, 0, "passes", "add", "book.csv", "kinds.leaf", "--set", "slack=0", "--show", show, "tank A=3.5")
}

// compare looks up the columns and rows of c in a file: rows are identified by
// their first value, numbers and logical values in CSV by their text.
func (c answerCase) compare(t *testing.T, file string, got answerTable) {
	t.Helper()
	for k, name := range c.names {
		at := slices.Index(got.names, name)
		for i, row := range c.rows {
			want := row[k]
			if other, ok := c.book[name]; ok && strings.HasSuffix(file, ".xlsx") {
				want = other[i]
			}
			if v, ok := got.value(c.find(got, row), at); !ok && want != nil || !alike(v, want) {
				t.Errorf("%s: %s of row %d is %#v, want %#v; the columns are %q", file, name, i+1, v, want, got.names)
			}
		}
	}
	for name, want := range c.book {
		at := slices.Index(got.names, name)
		for i, row := range c.rows {
			if v, _ := got.value(c.find(got, row), at); strings.HasSuffix(file, ".xlsx") && v != want[i] {
				t.Errorf("%s: %s of row %d is %#v, want %#v", file, name, i+1, v, want[i])
			}
		}
	}
}

// find returns the row of a table whose first values, in the first columns of c
// that hold no nil, are those of want.
func (c answerCase) find(in answerTable, want []any) int {
	return slices.IndexFunc(in.rows, func(row []any) bool {
		for k := range min(3, len(want)) {
			if at := slices.Index(in.names, c.names[k]); want[k] != nil && (at < 0 || !alike(row[at], want[k])) {
				return false
			}
		}
		return true
	})
}

func (a answerTable) value(row, column int) (any, bool) {
	if row < 0 || column < 0 || column >= len(a.rows[row]) {
		return nil, false
	}
	return a.rows[row][column], true
}

// alike compares a value of a file with the expected one, of which fifteen digits
// are known: a logical value is yes or no, and a number in a column with texts may
// be a text.
func alike(got, want any) bool {
	number, ok := want.(float64)
	switch v := got.(type) {
	case bool:
		got = map[bool]string{true: "yes", false: "no"}[v]
	case string:
		read, err := strconv.ParseFloat(v, 64)
		return got == want || ok && err == nil && read == number
	case float64:
		return ok && math.Abs(v-number) <= 1e-14*math.Abs(number)
	}
	return got == want
}

// readAnswer reads a file of an answer.
func readAnswer(t *testing.T, file string, c answerCase) answerTable {
	t.Helper()
	switch _, kind, _ := strings.Cut(file, "."); kind {
	case "csv":
		return csvTable(readCSV(t, file))
	case "parquet":
		read := readByLibrary(t, file)
		out := answerTable{rows: read.Rows}
		for _, name := range read.Names {
			out.names = append(out.names, headOf(name, read.Columns[name]["unit"]))
		}
		return out
	case "xlsx":
		return bookTable(t, file, c.tab)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	return c.plain(doc)
}

func headOf(name, unit string) string { return strings.TrimSuffix(name+" "+unit, " ") }

// csvTable reads the lines of a CSV file: nothing is nil, and what is a number as
// it would be written is one.
func csvTable(lines [][]string) answerTable {
	out := answerTable{names: lines[0]}
	for _, line := range lines[1:] {
		var row []any
		for _, text := range line {
			number, err := strconv.ParseFloat(text, 64)
			switch {
			case text == "":
				row = append(row, nil)
			case err == nil && strconv.FormatFloat(number, 'g', -1, 64) == text:
				row = append(row, number)
			case text[0] == '\'' && strings.ContainsAny(text[1:2], "=+-@"):
				row = append(row, text[1:])
			default:
				row = append(row, text)
			}
		}
		out.rows = append(out.rows, row)
	}
	return out
}

// bookTable reads a tab of a workbook: four rows above the names, units below them.
func bookTable(t *testing.T, file, tab string) answerTable {
	t.Helper()
	f, err := excelize.OpenFile(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := f.GetRows(tab, excelize.Options{RawCellValue: true})
	if err != nil || len(lines) < 6 {
		t.Fatalf("%s: %d rows, %v", file, len(lines), err)
	}
	out, label := answerTable{}, ""
	for c, name := range lines[3] {
		unit := ""
		if c < len(lines[4]) {
			unit = lines[4][c]
		}
		if tab == "Side by side" { // what neighbouring columns share is above them
			if c < len(lines[2]) && lines[2][c] != "" {
				label = lines[2][c] + " "
			}
			name = label + name
		}
		out.names = append(out.names, headOf(name, unit))
	}
	for i, line := range lines[5:] {
		row := make([]any, len(out.names))
		for c, text := range line {
			at, _ := excelize.CoordinatesToCellName(c+1, i+6)
			kind, err := f.GetCellType(tab, at)
			if err != nil {
				t.Fatal(err)
			}
			if c >= len(row) || text == "" {
				continue
			}
			if row[c] = text; kind == excelize.CellTypeUnset || kind == excelize.CellTypeNumber {
				number, err := strconv.ParseFloat(text, 64)
				if err != nil {
					t.Errorf("%s: %s holds %q as a number", file, at, text)
				}
				row[c] = number
			}
		}
		out.rows = append(out.rows, row)
	}
	return out
}

// fieldNames are the names of fields in JSON.
func fieldNames(fields any) []string {
	var out []string
	for _, f := range fields.([]any) {
		f := f.(map[string]any)
		unit, _ := f["unit"].(string)
		out = append(out, headOf(f["name"].(string), unit))
	}
	return out
}

// scenarioTable reads the JSON of a sweep.
func scenarioTable(doc map[string]any) answerTable {
	out := answerTable{names: append(append(fieldNames(doc["inputs"]), fieldNames(doc["shown"])...), "limits", "fault")}
	limits := doc["limits"].([]any)
	for _, one := range doc["scenarios"].([]any) {
		one := one.(map[string]any)
		state := "kept"
		if broken, ok := one["broken"].([]any); ok {
			state = "broken: " + limits[int(broken[0].(float64))].(map[string]any)["condition"].(string)
		}
		row := append(append([]any{}, one["inputs"].([]any)...), one["shown"].([]any)...)
		out.rows = append(out.rows, append(row, state, one["fault"]))
	}
	return out
}

// passesTable reads the JSON of a book, which has the texts of its fields; a
// column is named as in the file.
func passesTable(doc map[string]any) answerTable {
	lines := [][]string{{"line"}}
	for _, name := range doc["head"].([]any) {
		lines[0] = append(lines[0], name.(string))
	}
	lines[0] = append(lines[0], "fault")
	for _, one := range doc["lines"].([]any) {
		one := one.(map[string]any)
		line, faults := []string{fmt.Sprint(one["line"])}, []string{}
		for _, name := range lines[0][1 : len(lines[0])-1] {
			text := one["fields"].(map[string]any)[name].(string)
			if text == "fault" {
				faults, text = append(faults, name), ""
			}
			line = append(line, strings.TrimSuffix(text, ".00"))
		}
		lines = append(lines, append(line, strings.Join(faults, ", ")))
	}
	return csvTable(lines)
}

// loggedTable returns a reader of one table in the JSON of log.
func loggedTable(name string) func(doc map[string]any) answerTable {
	return func(doc map[string]any) (out answerTable) {
		for _, one := range doc["tables"].([]any) {
			one := one.(map[string]any)
			if one["name"] != name {
				continue
			}
			out.names = fieldNames(one["fields"])
			for _, row := range one["rows"].([]any) {
				out.rows = append(out.rows, row.([]any))
			}
		}
		return out
	}
}

// comparedTable reads the JSON of compare.
func comparedTable(doc map[string]any) answerTable {
	out := answerTable{names: []string{"kind", "name", "unit", "a", "b", "difference", "percent"}}
	value := func(v any) any {
		if fault, ok := v.(map[string]any); ok {
			return "fault: " + fault["fault"].(string)
		}
		return v
	}
	for _, kind := range []string{"given", "result"} {
		for _, one := range doc[kind+"s"].([]any) {
			one := one.(map[string]any)
			out.rows = append(out.rows, []any{kind, one["name"], one["unit"], value(one["a"]), value(one["b"]), one["difference"], one["percent"]})
		}
	}
	for _, one := range doc["limits"].([]any) {
		one := one.(map[string]any)
		out.rows = append(out.rows, []any{"limit", one["condition"], nil, one["a"], one["b"], nil, nil})
	}
	return out
}
