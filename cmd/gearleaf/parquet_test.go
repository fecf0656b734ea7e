package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"gearleaf/sheet/outside"
	"gearleaf/templates"
)

// An invented machine with every form and kind of value, faults and limits.
const parquetSheet = `title "Test mule"

primary   : 1.55
boost     : 22 psig ± 1 psig   range 0..40            "At the plenum, over the air outside"
inlet     : 48 degC ± 2 deltaC range 0..90            "Charge temperature"
duty      : 82 %
slack     : 1                  range -1..1            "Invented, to divide by"
fuel      : "alcohol"          choice "alcohol", "=b, c ""d"""
wet       : no
inverse   = primary / slack
absolute  = boost + 14.6 psia  as psia to 0.1
rising    = boost * 1.7 + plain(duty) * 1 psig as kPag
tyre      = if wet then "rain" else "dry"
limit  boost <= 30 psig  "The plenum is not made for more"
`

// TestParquetIsTheCSV writes sweeps, draws of a spread, a log and a book as CSV
// and as Parquet. Three readers of other makers find in the one the numbers,
// texts and blanks of the other: the kept library (Go), and where they are
// installed DuckDB (C++) and hyparquet (JavaScript).
func TestParquetIsTheCSV(t *testing.T) {
	script, err := filepath.Abs(filepath.Join("testdata", "parquet.js"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	writeParquets(t)
	files := []string{"sweep", "drawn", "draws", "log", "book", "worth"}
	var names []string
	for _, name := range files {
		compareParquet(t, name, readByLibrary(t, name+".parquet"), readCSV(t, name+".csv"))
		names = append(names, name+".parquet")
	}
	names = append(names, "part-*.parquet")
	files = append(files, "sweep")
	table := readByLibrary(t, "run.parquet")
	compareParquet(t, "run", table.without(t, "fault"), readCSV(t, "run-table.csv"))
	names, files = append(names, "run.parquet"), append(files, "")
	all := readByLibrary(t, "all.parquet")
	for _, row := range all.Rows {
		if row[4] == nil {
			row[4] = row[5]
		}
	}
	lines := readCSV(t, "all.csv")
	for i := range lines { // without the givens set, which Parquet has in its metadata
		lines[i] = lines[i][:len(lines[i])-1]
	}
	compareParquet(t, "all", all.without(t, "text"), lines)
	for i, tables := range readOutside(t, script, names) {
		for _, table := range tables {
			if files[i] == "" {
				compareParquet(t, names[i]+" by "+table.Reader, table.without(t, "fault"), readCSV(t, "run-table.csv"))
				continue
			}
			compareParquet(t, names[i]+" by "+table.Reader, table, readCSV(t, files[i]+".csv"))
		}
	}
}

// writeParquets writes the files.
func writeParquets(t *testing.T) {
	t.Helper()
	mustWriteFile(t, "bike.leaf", parquetSheet)
	pass, ok := templates.Find("quarter-mile")
	if !ok {
		t.Fatal("no template quarter-mile")
	}
	mustWriteFile(t, "pass.leaf", pass.Text)
	sweep := []string{"sweep", "bike.leaf", "boost=20..31 psig by 0.25 psig", "slack=-1..1 by 0.5", "fuel", "wet=no,yes", "--show", "inverse,absolute,rising,tyre,fuel,inlet"}
	drawn := []string{"sweep", "bike.leaf", "boost", "inlet", "slack", "--random", "3000", "--show", "inverse,rising,absolute"}
	spread := []string{"spread", "bike.leaf", "--show", "absolute,rising", "--draws", "3000"}
	for _, kind := range []string{".csv", ".parquet"} {
		status(t, 1, append(sweep, "-o", "sweep"+kind)...)
		status(t, 0, append(drawn, "-o", "drawn"+kind)...)
		status(t, 0, append(spread, "--drawn", "draws"+kind)...)
	}
	for _, to := range []string{"run-table.csv", "run.parquet"} {
		status(t, 0, "export", "pass.leaf", "--table", "run", "-o", to)
	}
	for _, to := range []string{"all.csv", "all.parquet"} {
		status(t, 1, "export", "bike.leaf", "--set", "slack=0", "-o", to)
	}
	for i := 1; i <= 3; i++ {
		want := 1
		status(t, want, append(sweep, "-o", fmt.Sprintf("part-%d.parquet", i), "--shard", fmt.Sprintf("%d/3", i))...)
	}
	status(t, 0, "log", "pass.leaf", "run.csv", "--invent", "--faults")
	status(t, 0, "passes", "add", "book.csv.book", "pass.leaf", "--show", "elapsed_time,trap_speed", "--log", "run.csv", "tyre=007", "note==1+1")
	status(t, 0, "passes", "add", "book.csv.book", "pass.leaf", "--show", "elapsed_time", "note=")
	status(t, 0, "worth", "pass.leaf", "--show", "run.speed", "mass_with_rider=10lb", "--json")
	for _, kind := range []string{".csv", ".parquet"} {
		status(t, 0, "log", "pass.leaf", "run.csv", "--chart", "none", "-o", "log"+kind)
		status(t, 0, "passes", "list", "book.csv.book", "-o", "book"+kind)
		status(t, 0, "worth", "pass.leaf", "--show", "run.speed", "mass_with_rider=10lb", "-o", "worth"+kind)
	}
}

// without returns a table without one of its columns.
func (r readTable) without(t *testing.T, column string) readTable {
	t.Helper()
	at := slices.Index(r.Names, column)
	if at < 0 {
		t.Fatalf("no column %s among %v", column, r.Names)
	}
	r.Names = slices.Delete(slices.Clone(r.Names), at, at+1)
	rows := r.Rows
	r.Rows = nil
	for _, row := range rows {
		r.Rows = append(r.Rows, slices.Delete(slices.Clone(row), at, at+1))
	}
	return r
}

// status runs a command, demands its exit status and returns what it printed.
func status(t *testing.T, want int, args ...string) (printed, said string) {
	t.Helper()
	var out, errs bytes.Buffer
	if got := run(args, strings.NewReader(""), &out, &errs); got != want {
		t.Fatalf("%s: exit status %d, want %d\n%s%s", strings.Join(args, " "), got, want, out.String(), errs.String())
	}
	return out.String(), errs.String()
}

func mustWriteFile(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// readTable is what a reader found: a value is a float64, a string, a bool or
// nil.
type readTable struct {
	Reader  string
	Names   []string
	Rows    [][]any
	About   map[string]string
	Columns map[string]map[string]string
}

// compareParquet compares a table with the lines of a CSV file, its head first.
func compareParquet(t *testing.T, name string, got readTable, want [][]string) {
	t.Helper()
	if len(got.Rows) != len(want)-1 || len(got.Rows) == 0 || len(got.Names) != len(want[0]) {
		t.Errorf("%s: %d rows of %d columns, want %d of %d", name, len(got.Rows), len(got.Names), len(want)-1, len(want[0]))
		return
	}
	type listing struct{ Name, Unit, Kind string }
	var listed []listing
	if err := json.Unmarshal([]byte(got.About["gearleaf.columns"]), &listed); err != nil {
		t.Fatalf("%s: %v in %v", name, err, got.About)
	}
	for c, column := range got.Names {
		about := got.Columns[column]
		if !slices.Contains(listed, listing{column, about["unit"], about["kind"]}) || about["kind"] == "" {
			t.Errorf("%s: column %s has %v, and the list of columns is %v", name, column, about, listed)
		}
		if head := strings.TrimSuffix(column+" "+about["unit"], " "); head != want[0][c] && column != want[0][c]+"_2" {
			t.Errorf("%s: column %d is %q, want %q", name, c, head, want[0][c])
		}
	}
	for i, row := range got.Rows {
		for c, v := range row {
			if text := want[i+1][c]; !sameValue(v, text) {
				t.Errorf("%s: row %d of %s is %v, want %q", name, i, got.Names[c], v, text)
				return
			}
		}
	}
}

// sameValue compares a value with a field of CSV, a number to the bit.
func sameValue(v any, text string) bool {
	switch v := v.(type) {
	case nil:
		return text == ""
	case float64:
		number, err := strconv.ParseFloat(text, 64)
		return err == nil && number == v
	case bool:
		return text == map[bool]string{true: "yes", false: "no"}[v]
	case string:
		return v == text || "'"+v == text && strings.ContainsAny(v[:1], "=+-@")
	}
	return false
}

func readCSV(t *testing.T, name string) [][]string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

// readByLibrary reads a file by the library that wrote its metadata; its pages
// are read by code of its own.
func readByLibrary(t *testing.T, name string) readTable {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	out := readTable{About: map[string]string{}, Columns: map[string]map[string]string{}}
	for _, p := range f.Metadata().KeyValueMetadata {
		out.About[p.Key] = p.Value
	}
	for _, c := range f.Metadata().RowGroups[0].Columns {
		column := c.MetaData.PathInSchema[0]
		out.Names, out.Columns[column] = append(out.Names, column), map[string]string{}
		for _, p := range c.MetaData.KeyValueMetadata {
			out.Columns[column][p.Key] = p.Value
		}
	}
	for _, group := range f.RowGroups() {
		rows := group.Rows()
		buffer := make([]parquet.Row, group.NumRows())
		n, err := rows.ReadRows(buffer)
		if int64(n) != group.NumRows() {
			t.Fatalf("%s: %d rows of %d: %v", name, n, group.NumRows(), err)
		}
		for _, row := range buffer {
			out.Rows = append(out.Rows, plainRow(row))
		}
		_ = rows.Close()
	}
	return out
}

func plainRow(row parquet.Row) []any {
	out := make([]any, len(row))
	for i, v := range row {
		switch {
		case v.IsNull():
		case v.Kind() == parquet.Double:
			out[i] = v.Double()
		case v.Kind() == parquet.Boolean:
			out[i] = v.Boolean()
		default:
			out[i] = string(v.ByteArray())
		}
	}
	return out
}

// readOutside reads files by DuckDB and hyparquet.
func readOutside(t *testing.T, script string, files []string) [][]readTable {
	t.Helper()
	if out, err := exec.Command("node", "-e", `require("@duckdb/node-api")`).CombinedOutput(); err != nil {
		outside.Missing(t, "@duckdb/node-api and hyparquet (npm; NODE_PATH says where) are not installed: "+strings.SplitN(string(out), "\n", 2)[0])
	}
	cmd := exec.Command("node", append([]string{script}, files...)...)
	cmd.Stderr = os.Stderr
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var found map[string][]readTable
	if err := json.Unmarshal(text, &found); err != nil {
		t.Fatal(err)
	}
	var out [][]readTable
	for _, file := range files {
		if len(found[file]) == 0 {
			t.Fatalf("%s was not read", file)
		}
		out = append(out, found[file])
	}
	return out
}
