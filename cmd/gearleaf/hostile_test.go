package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gearleaf/sheet/outside"
)

// hostileInput is a file made to take memory or time, and the command that
// meets it.
type hostileInput struct {
	name   string
	args   []string
	files  map[string]func(io.Writer)
	status []int           // any of these
	said   string          // on standard error
	heavy  bool            // tried only where GEARLEAF_ROUNDS is set
	input  func(io.Writer) // on standard input
}

// The bounds of every command on input up to 64 MB.
const (
	mostMiB     = 1000
	mostSeconds = 10
)

// repeated writes head, then part with a running number n times, then tail.
func repeated(head, part string, n int, tail string) func(io.Writer) {
	return func(w io.Writer) {
		io.WriteString(w, head)
		for i := range n {
			if strings.Contains(part, "%") {
				fmt.Fprintf(w, part, i)
			} else {
				io.WriteString(w, part)
			}
		}
		io.WriteString(w, tail)
	}
}

func text(s string) func(io.Writer) { return repeated(s, "", 0, "") }

const loggedSheet = `table run rows 1000
  time = prev(time) + 0.01 s start 0 s
  engine_speed = prev(engine_speed) + 1 rpm start 5000 rpm

log run
  time : from "time" s
  engine_speed : from "engine_speed" rpm
`

// slowSheet is a pass of thirty years.
const slowSheet = `table run rows 1000
  time = prev(time) + 1000000 s start 0 s
  engine_speed = prev(engine_speed) + 1 rpm start 5000 rpm

log run
  time : from "time" s
  engine_speed : from "engine_speed" rpm
`

// stored is a workbook whose parts are not compressed, so its size is theirs.
func stored(shared, sheet func(io.Writer)) func(io.Writer) {
	return func(w io.Writer) {
		z := zip.NewWriter(w)
		for _, part := range []struct {
			name  string
			write func(io.Writer)
		}{
			{"xl/workbook.xml", text(`<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>`)},
			{"xl/_rels/workbook.xml.rels", text(`<R><Relationship Id="r1" Target="worksheets/sheet1.xml"/></R>`)},
			{"xl/sharedStrings.xml", shared},
			{"xl/worksheets/sheet1.xml", sheet},
		} {
			if f, err := z.CreateHeader(&zip.FileHeader{Name: part.name, Method: zip.Store}); err == nil {
				part.write(f)
			}
		}
		z.Close()
	}
}

// manyFields is a worksheet of a few lines whose table has so many rows and
// computed columns.
func manyFields(given string, rows, columns int) func(io.Writer) {
	return repeated(fmt.Sprintf("k : %s\ntable t rows %d\n", given, rows), "  c%d = row * k\n", columns, "")
}

// ofLongTables are reports that would list every field of such tables.
func ofLongTables() []hostileInput {
	var out []hostileInput
	add := func(said string, status []int, rows, columns int, args ...string) {
		files := map[string]func(io.Writer){"a.leaf": manyFields("2", rows, columns), "b.leaf": manyFields("3", rows, columns)}
		out = append(out, hostileInput{name: fmt.Sprintf("%q of %d rows", args, rows), args: args, status: status, said: said, files: files})
	}
	for _, args := range [][]string{
		{"calc", "a.leaf", "--json"},
		{"calc", "a.leaf", "--full"},
		{"export", "a.leaf", "-o", "a.json"},
		{"export", "a.leaf", "-o", "a.xlsx"},
		{"export", "a.leaf", "-o", "a.html"},
	} {
		add("a document takes 2500000", []int{2}, 1_000_000, 10, args...)
		add("", []int{0}, 800_000, 3, args...)
	}
	for _, args := range [][]string{{"change", "a.leaf", "k=3", "--json"}, {"change", "a.leaf", "k=3", "--full"}} {
		add("lists at most 400000", []int{2}, 1_000_000, 10, args...)
		add("", []int{0}, 39_000, 10, args...)
	}
	for _, args := range [][]string{{"compare", "a.leaf", "b.leaf"}, {"compare", "a.leaf", "b.leaf", "-o", "c.csv"}} {
		add("more than 400000 values differ", []int{2}, 1_000_000, 10, args...)
		add("", []int{0, 1}, 39_000, 10, args...)
	}
	add("have more than 10000000 fields", []int{2}, 1_000_000, 11, "check", "a.leaf")
	return out
}

var hostileInputs = []hostileInput{
	{name: "calls that come to too much together", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "are expanded", files: map[string]func(io.Writer){
		"a.leaf": repeated("function f(x: 1) as 1\n  = x"+strings.Repeat(" + x", 9000)+"\n", "a%d = f(1)\n", 600, ""),
	}},
	{name: "long formulas without end", args: []string{"check", "a.leaf"}, status: []int{2}, said: "operations", files: map[string]func(io.Writer){
		"a.leaf": repeated("a : 1\n", "c%d = a"+strings.Repeat(" + a", 1500)+"\n", 9500, ""),
	}},
	{name: "rows times operations", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "operations to compute", files: map[string]func(io.Writer){
		"a.leaf": text("table t rows 1000000\n  a = row\n  b = " + strings.Repeat("a * ", 2000) + "1\n"),
	}},
	{name: "sums of a long column", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "too-large", files: map[string]func(io.Writer){
		"a.leaf": repeated("table t rows 1000000\n  a = row\n", "c%d = sum(t.a)\n", 2000, ""),
	}},
	{name: "lines of comment", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "lines; the bound is", files: map[string]func(io.Writer){
		"a.leaf": repeated("", "#\n", 30_000_000, ""),
	}},
	{name: "a circle of 300,000 cells", args: []string{"check", "a.leaf"}, status: []int{2}, said: "depends on itself", heavy: true, files: map[string]func(io.Writer){
		"a.leaf": func(w io.Writer) {
			for i := range 300_000 {
				fmt.Fprintf(w, "c%d = c%d + 1\n", i, (i+1)%300_000)
			}
		},
	}},
	{name: "names that are not there", args: []string{"check", "a.leaf"}, status: []int{2}, said: "name-unknown", heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("", "c%[1]d = x%[1]d + 1\n", 499_000, ""),
	}},
	{name: "one name over and over", args: []string{"check", "a.leaf"}, status: []int{2}, said: "name-duplicate", heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("", "a : 1\n", 499_000, ""),
	}},
	{name: "tables", args: []string{"calc", "a.leaf"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("", "table t%d rows 1\n  a = row\n", 249_000, ""),
	}},
	{name: "cells", args: []string{"calc", "a.leaf"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("a : 1\n", "c_%[1]d = a + %[1]d * a\n", 390_000, ""),
	}},
	{name: "limits", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "the bound is", files: map[string]func(io.Writer){
		"a.leaf": repeated("a : 1\n", "limit a <= 2\n", 100_001, ""),
	}},
	{name: "keys that are missing", args: []string{"calc", "a.leaf"}, status: []int{1}, files: map[string]func(io.Writer){
		"a.leaf": text("table k rows 200000\n  a = row\n\ntable t rows 200000\n  q = row + 200000\n  b = pick(q, k.a, k.a)\n  c = first_at(q, k.a, k.a)\n"),
	}},
	{name: "a head of commas", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "a.csv", files: map[string]func(io.Writer){
		"a.leaf": text("table t from \"a.csv\"\n  x : from \"x\"\n"), "a.csv": repeated("x", ",", 60_000_000, "\n"),
	}},
	{name: "a quote without end", args: []string{"calc", "a.leaf"}, status: []int{2}, said: "a.csv", files: map[string]func(io.Writer){
		"a.leaf": text("table t from \"a.csv\"\n  x : from \"x\"\n"), "a.csv": repeated("x\n\"", "y", 60_000_000, "\n"),
	}},
	{name: "rows of commas", args: []string{"calc", "a.leaf"}, status: []int{0, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text("table t from \"a.csv\"\n  x : from \"x\"\n"), "a.csv": repeated("x"+strings.Repeat(",", 59)+"\n", "1"+strings.Repeat(",", 59)+"\n", 990_000, ""),
	}},
	{name: "a clock that jumps and comes back", args: []string{"log", "a.leaf", "a.csv"}, status: []int{0, 1}, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", "%[1]d,%[1]d\n", 1000, "1e300,5000\n1001,5000\n1002,5000\n1003,5000\n"),
	}},
	{name: "a clock that jumps", args: []string{"log", "a.leaf", "a.csv"}, status: []int{0, 1, 2}, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", "%[1]d,%[1]d\n", 1000, repeatedText(1000, "1e15,5000\n", "2e15,5000\n")),
	}},
	{name: "a pass of thirty years", args: []string{"log", "a.leaf", "a.csv"}, status: []int{2}, said: "too long to find the pass", files: map[string]func(io.Writer){
		"a.leaf": text(slowSheet), "a.csv": repeated("time,engine_speed\n", "%[1]d,%[1]d\n", 1000, ""),
	}},
	{name: "an invented log of thirty years", args: []string{"log", "a.leaf", "b.csv", "--invent"}, status: []int{2}, said: "the bound is", files: map[string]func(io.Writer){
		"a.leaf": text(slowSheet),
	}},
	{name: "a log of days", args: []string{"log", "a.leaf", "a.csv"}, status: []int{2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", "%[1]d,%[1]d\n", 4_000_000, ""),
	}},
	{name: "a text that many fields share", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", files: map[string]func(io.Writer){
		"a.xlsx": stored(text("<sst><si><t>"+strings.Repeat("x", 1_000_000)+"</t></si></sst>"), repeated("<worksheet><sheetData><row>", `<c t="s"><v>0</v></c>`, 1_900_000, "</row></sheetData></worksheet>")),
	}},
	{name: "fields", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", heavy: true, files: map[string]func(io.Writer){
		"a.xlsx": stored(text("<sst/>"), repeated("<worksheet><sheetData><row>", `<c><v>1</v></c>`, 4_000_000, "</row></sheetData></worksheet>")),
	}},
	{name: "a formula that many fields share", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", heavy: true, files: map[string]func(io.Writer){
		"a.xlsx": stored(text("<sst/>"), repeated(`<worksheet><sheetData><row><c><f t="shared" si="0">`+strings.Repeat("A1+", 100_000)+"1</f></c>", `<c><f t="shared" si="0"/></c>`, 1_900_000, "</row></sheetData></worksheet>")),
	}},
	{name: "tags within tags", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", heavy: true, files: map[string]func(io.Writer){
		"a.xlsx": stored(text("<sst/>"), repeated("<worksheet>", "<a>", 20_000_000, "")),
	}},
	{name: "a book of ten million lines", args: []string{"passes", "list", "a.csv"}, status: []int{2}, said: "the bound of a book", files: map[string]func(io.Writer){
		"a.csv": repeated("pass,note,check\n", "1,x,y\n", 10_000_000, ""),
	}},
	{name: "a book with a line of commas", args: []string{"passes", "list", "a.csv"}, status: []int{1, 2}, files: map[string]func(io.Writer){
		"a.csv": repeated("pass,note,check\n1", ",", 60_000_000, "\n"),
	}},
}

func repeatedText(n int, parts ...string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(parts[i*len(parts)/n])
	}
	return b.String()
}

// TestHostile meets every command with input that is made to take memory or
// time: it is computed within the bounds, or refused with a word.
func TestHostile(t *testing.T) {
	for _, in := range slices.Concat(ofLongTables(), hostileInputs, hostileCommands) {
		if in.heavy && os.Getenv("GEARLEAF_ROUNDS") == "" {
			continue // a run in the night sets it
		}
		t.Run(in.name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			for name, write := range in.files {
				writeBy(t, name, write)
			}
			bounds(t, in)
		})
	}
}

func writeBy(t *testing.T, name string, write func(io.Writer)) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriter(f) // not in memory: a child's peak begins at ours
	write(w)
	if err := errors.Join(w.Flush(), f.Close()); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(name); err != nil || info.Size() > 64<<20 {
		t.Fatalf("%s has more bytes than this is about (%v)", name, err)
	}
}

// bounds runs the command of in.
func bounds(t *testing.T, in hostileInput) {
	t.Helper()
	cmd := exec.Command("gearleaf", in.args...)
	var errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = io.Discard, &errs
	if in.input != nil {
		writeBy(t, "input", in.input)
		f, err := os.Open("input")
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		cmd.Stdin = f
	}
	freshPeak()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	stop := time.AfterFunc(10*mostSeconds*time.Second, func() { _ = cmd.Process.Kill() }) // what never ends
	_ = cmd.Wait()
	stop.Stop()
	state := cmd.ProcessState
	took := (state.UserTime() + state.SystemTime()).Seconds()
	mib, known := peakMiB(state)
	t.Logf("status %d, %.1f s, %d MiB: %.100s", state.ExitCode(), took, mib, errs.String())
	wanted := false
	for _, s := range in.status {
		wanted = wanted || s == state.ExitCode()
	}
	if !wanted || !strings.Contains(errs.String(), in.said) || strings.Contains(errs.String(), "goroutine ") {
		t.Errorf("status %d, want one of %d and %q: %.2000s", state.ExitCode(), in.status, in.said, errs.String())
	}
	if n := strings.Count(errs.String(), "\n"); n > 1000 {
		t.Errorf("%d lines of errors", n)
	}
	if racing {
		return
	}
	if took > mostSeconds {
		t.Errorf("it took %.1f s", took)
	}
	if known && mib > mostMiB {
		t.Errorf("it took %d MiB", mib)
	}
}

// TestMemoryOfCSV holds the memory that reading a file takes to ten times its
// size; to fifteen times where every field is a text of its own, which is kept
// with a header and an index of 24 bytes besides.
func TestMemoryOfCSV(t *testing.T) {
	peak := func(sheet string) int64 {
		writeFile(t, "a.leaf", sheet)
		freshPeak()
		cmd := exec.Command("gearleaf", "calc", "a.leaf", "--cell", "b")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %.500s", err, out)
		}
		mib, known := peakMiB(cmd.ProcessState)
		if !known || racing {
			t.Skip("this system does not say, or the race detector adds its own")
		}
		return int64(mib)
	}
	t.Chdir(t.TempDir())
	alone := peak("b = 1 + 1\n")
	for _, c := range []struct {
		name, head, line string
		most             int64
	}{
		{"a logger's numbers", "x,y\n", "%[1]d.25,%[1]d.5\n", 10},
		{"texts of a few kinds", "x,y\n", "dry and warm,%[1]d.5\n", 10},
		{"texts that all differ", "x,y\n", "word %[1]d,other %[1]d\n", 15},
	} {
		writeBy(t, "a.csv", repeated(c.head, c.line, 900_000, ""))
		info, err := os.Stat("a.csv")
		if err != nil {
			t.Fatal(err)
		}
		took := peak("table t from \"a.csv\"\n  x : from \"x\"\n  y : from \"y\"\nb = count(t.y)\n") - alone
		t.Logf("%s: %d MiB for %d bytes", c.name, took, info.Size())
		if took<<20 > c.most*info.Size() {
			t.Errorf("%s: %d MiB for %d bytes, more than %d times as much", c.name, took, info.Size(), c.most)
		}
	}
}

// TestSpecialFilesAreNotRead: a device, a pipe and a sparse giant are refused
// by every command that reads, before they are read.
func TestSpecialFilesAreNotRead(t *testing.T) {
	folder := t.TempDir()
	t.Chdir(folder)
	writeFile(t, "a.leaf", loggedSheet)
	// Whole paths: what waits longer than this test writes nowhere else.
	giant, pipe := filepath.Join(folder, "giant"), filepath.Join(folder, "pipe")
	paths := []string{giant}
	writeFile(t, giant, "")
	if err := os.Truncate(giant, 1<<40); err != nil {
		outside.Missing(t, "no sparse files here")
	}
	if mkfifo, err := exec.LookPath("mkfifo"); err == nil && exec.Command(mkfifo, pipe).Run() == nil {
		paths = append(paths, pipe)
	}
	if _, err := os.Stat("/dev/zero"); err == nil {
		paths = append(paths, "/dev/zero")
	}
	for _, path := range append(paths, t.TempDir()) {
		writeFile(t, "table.leaf", fmt.Sprintf("table t from %q\n  x : from \"x\"\n", filepath.ToSlash(path)))
		for _, args := range [][]string{
			{"calc", path},
			{"check", path},
			{"fmt", path},
			{"log", "a.leaf", path},
			{"log", "a.leaf", path, "--guess"},
			{"log", "a.leaf", path, "--invent"},
			{"passes", "list", path},
			{"passes", "add", path, "a.leaf"},
			{"passes", "add", "book.csv", "a.leaf", "--log", path},
			{"readback", path, "--text"},
			{"compare", "a.leaf", path},
		} {
			done := make(chan int, 1)
			var out, errs bytes.Buffer
			go func() { done <- run(args, strings.NewReader(""), &out, &errs) }()
			select {
			case status := <-done:
				if status != 2 || errs.Len() == 0 {
					t.Errorf("%q: status %d, %s", args, status, errs.String())
				}
			case <-time.After(mostSeconds * time.Second):
				t.Fatalf("%q waits", args)
			}
		}
	}
}
