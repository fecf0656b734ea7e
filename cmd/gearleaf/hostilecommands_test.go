package main

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"io"
	"strings"
)

// The commands that do more than compute a sheet, each with what could take
// memory or time beyond the bounds of the sheet itself.
var hostileCommands = []hostileInput{
	{name: "spread of a column of tolerances", args: []string{"spread", "a.leaf", "--show", "r"}, status: []int{2}, said: "the bound is 20000", files: map[string]func(io.Writer){
		"a.leaf": text("table t from \"a.csv\"\n  x : from \"x\" ± 0.1\n  y = x * x\nr = sum(t.y)\n"), "a.csv": repeated("x\n", "%d\n", 900_000, ""),
	}},
	{name: "spread of correlated tolerances", args: []string{"spread", "a.leaf", "--show", "r"}, status: []int{2}, said: "the bound is 1000", files: map[string]func(io.Writer){
		"a.leaf": text("table t from \"a.csv\"\n  x : from \"x\" ± 0.1\n  y = x * x\na : 1 ± 0.1\nb : 1 ± 0.1\ncorrelate a, b 0.5\nr = sum(t.y) + a + b\n"), "a.csv": repeated("x\n", "%d\n", 15_000, ""),
	}},
	{name: "spread at the bound", args: []string{"spread", "a.leaf", "--show", "r", "--draws", "1000"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text("table t from \"a.csv\"\n  x : from \"x\" ± 0.1\n  y = x * x\nr = sum(t.y)\n"), "a.csv": repeated("x\n", "%d\n", 15_000, ""),
	}},
	{name: "spread of a long sheet", args: []string{"spread", "a.leaf", "--show", "r"}, status: []int{2}, said: "--draws", files: map[string]func(io.Writer){
		"a.leaf": text("k : 2 ± 0.1\ntable t rows 1000000\n  x = row * k\n  y = x * x\nr = sum(t.y)\n"),
	}},
	{name: "draws without end", args: []string{"spread", "a.leaf", "--show", "r", "--draws", "1000000000"}, status: []int{2}, said: "more than", files: small},
	{name: "a sweep of ten million values", args: []string{"sweep", "a.leaf", "k=1..10000000 by 1", "--show", "r"}, status: []int{2}, said: "too many for a page", files: small},
	{name: "a sweep of more values", args: []string{"sweep", "a.leaf", "k=1..10000000 by 0.1", "--show", "r"}, status: []int{2}, said: "more than 10000000 values", files: small},
	{name: "a grid", args: []string{"sweep", "a.leaf", "k=1..3000000 by 1", "j=1..3000000 by 1", "--show", "r"}, status: []int{2}, said: "too many for a page", heavy: true, files: small},
	{name: "a grid as workbook", args: []string{"sweep", "a.leaf", "k=1..3000 by 1", "j=1..3000 by 1", "--show", "r", "-o", "a.xlsx"}, status: []int{2}, said: "a workbook holds", files: small},
	{name: "a sweep of 99,000 limits", args: []string{"sweep", "a.leaf", "k=1..60 by 1", "--show", "r"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("k : 1\nr = k * 2\n", "limit k <= %d\n", 99_000, ""),
	}},
	{name: "best of long choices", args: []string{"best", "a.leaf", "--max", "r", "--by", "c0,c1,c2,c3,c4,c5,c6,c7"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": func(w io.Writer) {
			for i := range 8 {
				repeated(fmt.Sprintf("c%d : 1 choice 0", i), ", %d", 100_000, "\n")(w)
			}
			io.WriteString(w, "r = c0 + c1 + c2 + c3 + c4 + c5 + c6 + c7\n")
		},
	}},
	{name: "worth of a long sheet", args: []string{"worth", "a.leaf", "k=1%", "--show", "r"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text("k : 2\ntable t rows 1000000\n  x = row * k\n  y = x * x\nr = sum(t.y)\n"),
	}},
	{name: "solve a long sheet", args: []string{"solve", "a.leaf", "r=5e17", "--by", "k", "--within", "1..10"}, status: []int{0, 1}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text("k : 2\ntable t rows 1000000\n  x = row * k\nr = sum(t.x)\n"),
	}},
	{name: "trace of a long sum", args: []string{"trace", "a.leaf", "r"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text("k : 2\ntable t rows 1000000\n  x = row * k\nr = sum(t.x)\n"),
	}},
	{name: "a page of markdown", args: []string{"export", "a.leaf", "-o", "a.md"}, status: []int{0, 2}, heavy: true, files: map[string]func(io.Writer){"a.leaf": manyFields("2", 800_000, 3)}},
	{name: "a larger page of markdown", args: []string{"export", "a.leaf", "-o", "a.md"}, status: []int{0, 2}, heavy: true, files: map[string]func(io.Writer){"a.leaf": manyFields("2", 1_000_000, 10)}},
	{name: "a folder of a page", args: []string{"export", "a.leaf", "--site", "site"}, status: []int{0, 2}, heavy: true, files: map[string]func(io.Writer){"a.leaf": manyFields("2", 800_000, 3)}},
	{name: "many cells as page", args: []string{"export", "a.leaf", "-o", "a.html"}, status: []int{2}, said: "a page shows 50000", heavy: true, files: manyCells},
	{name: "a page at the bound", args: []string{"export", "a.leaf", "-o", "a.html"}, status: []int{0}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("a : 1\n", "c_%[1]d = a + %[1]d * a\n", 49_990, ""),
	}},
	{name: "many cells as workbook", args: []string{"export", "a.leaf", "-o", "a.xlsx"}, status: []int{0, 2}, heavy: true, files: manyCells},
	{name: "many cells as JSON", args: []string{"export", "a.leaf", "-o", "a.json"}, status: []int{0, 2}, heavy: true, files: manyCells},
	{name: "many cells compared", args: []string{"compare", "a.leaf", "b.leaf"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("a : 1\n", "c_%[1]d = a + %[1]d * a\n", 300_000, ""), "b.leaf": repeated("a : 1\n", "d_%[1]d = a + %[1]d * a\n", 300_000, ""),
	}},
	{name: "many tables compared", args: []string{"compare", "a.leaf", "b.leaf"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("", "table t%d rows 1\n  a = row\n", 200_000, ""), "b.leaf": repeated("", "table u%d rows 1\n  a = row\n", 200_000, ""),
	}},
	{name: "many cells changed", args: []string{"change", "a.leaf", "a=2"}, status: []int{0, 2}, heavy: true, files: manyCells},
	{name: "a long text laid out", args: []string{"fmt", "a.leaf"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("", "c%d:1 mm \"label\" # why\n", 490_000, ""),
	}},
	{name: "repairs", args: []string{"check", "a.leaf", "--repair"}, status: []int{2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": repeated("", "c%d : 14 psi\n", 490_000, ""),
	}},
	{name: "a log of one clock", args: []string{"log", "a.leaf", "a.csv", "--json"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", "0,5000\n", 9_000_000, ""),
	}},
	{name: "a log of two instants", args: []string{"log", "a.leaf", "a.csv", "--chart", "all"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", "0,5000\n1,6000\n", 4_000_000, ""),
	}},
	{name: "a log that restarts", args: []string{"log", "a.leaf", "a.csv", "--json"}, status: []int{2}, said: "too long to find the pass", files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", restarts(), 10_000, ""),
	}},
	{name: "a log of words", args: []string{"log", "a.leaf", "a.csv"}, status: []int{2}, said: "a.csv", heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed\n", "x,y\n", 15_000_000, ""),
	}},
	{name: "a log of 2000 channels", args: []string{"log", "a.leaf", "a.csv", "--guess"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed"+strings.Repeat(",x", 2000)+"\n", "%d,5000"+strings.Repeat(",1", 2000)+"\n", 15_000, ""),
	}},
	{name: "a log of a million channels", args: []string{"log", "a.leaf", "a.csv", "--guess"}, status: []int{0, 1, 2}, files: map[string]func(io.Writer){
		"a.leaf": text(loggedSheet), "a.csv": repeated("time,engine_speed", ",c%d", 120_000, "\n1,2\n"),
	}},
	{name: "a long log as workbook", args: []string{"log", "a.leaf", "a.csv", "-o", "b.xlsx"}, status: []int{0, 1, 2}, heavy: true, files: longLog},
	{name: "a long log as JSON", args: []string{"log", "a.leaf", "a.csv", "--json"}, status: []int{0, 1, 2}, heavy: true, files: longLog},
	{name: "a long log as text", args: []string{"log", "a.leaf", "a.csv", "--chart", "all"}, status: []int{0, 1, 2}, heavy: true, files: longLog},
	{name: "a fit of a long log", args: []string{"fit", "a.leaf", "a.csv", "--by", "k"}, status: []int{0, 1, 2}, heavy: true, files: longLog},
	{name: "a zip bomb", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", files: map[string]func(io.Writer){"a.xlsx": bomb("xl/worksheets/sheet1.xml")}},
	{name: "a zip bomb of texts", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", files: map[string]func(io.Writer){"a.xlsx": bomb("xl/sharedStrings.xml")}},
	{name: "a zip of a million parts", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", heavy: true, files: map[string]func(io.Writer){"a.xlsx": manyParts}},
	{name: "shared texts without end", args: []string{"readback", "a.xlsx", "--text"}, status: []int{2}, said: "a.xlsx", heavy: true, files: map[string]func(io.Writer){
		"a.xlsx": stored(repeated("<sst>", "<si><t>x</t></si>", 3_700_000, "</sst>"), text("<worksheet/>")),
	}},
	{name: "a wide book", args: []string{"passes", "list", "a.csv"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.csv": repeated("pass,note,"+columnNames(3000)+"check\n", "%d,"+strings.Repeat(",", 3000)+"y\n", 20_000, ""),
	}},
	{name: "a book of long notes", args: []string{"passes", "list", "a.csv"}, status: []int{0, 1, 2}, heavy: true, files: map[string]func(io.Writer){
		"a.csv": repeated("pass,note,check\n", "%d,"+strings.Repeat("x", 300)+",y\n", 190_000, ""),
	}},
	{name: "an editor's message of a terabyte", args: []string{"lsp"}, status: []int{1, 2}, said: "the most is", input: text("Content-Length: 1000000000000\r\n\r\n{")},
	{name: "an editor's brackets", args: []string{"lsp"}, status: []int{0, 1, 2}, heavy: true, input: func(w io.Writer) {
		fmt.Fprintf(w, "Content-Length: %d\r\n\r\n", 60_000_000)
		repeated("", "[", 60_000_000, "")(w)
	}},
	{name: "an editor's text", args: []string{"lsp"}, status: []int{0, 1, 2}, heavy: true, input: func(w io.Writer) {
		message(w, `{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}`)
		message(w, `{"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":"file:///tmp/a.leaf","languageId":"gearleaf","version":1,"text":"`+strings.Repeat(`c : 1\n`, 480_000)+`"}}}`)
		message(w, `{"jsonrpc":"2.0","id":2,"method":"shutdown"}`)
		message(w, `{"jsonrpc":"2.0","method":"exit"}`)
	}},
}

var (
	small     = map[string]func(io.Writer){"a.leaf": text("k : 2 ± 0.1\nj : 2\nr = k * j\n")}
	manyCells = map[string]func(io.Writer){"a.leaf": repeated("a : 1\n", "c_%[1]d = a + %[1]d * a\n", 390_000, "")}
	longLog   = map[string]func(io.Writer){
		"a.leaf": text("k : 1 range 0.5..2\n" + strings.ReplaceAll(loggedSheet, "+ 1 rpm", "+ k * 1 rpm")),
		"a.csv":  longPass,
	}
)

// longPass writes a log of 4,000,000 samples.
func longPass(w io.Writer) {
	io.WriteString(w, "time,engine_speed\n")
	for i := range 4_000_000 {
		fmt.Fprintf(w, "%.3f,%d\n", float64(i)/1000, 5000+min(i/10, 900)+i%90)
	}
}

// restarts is a part of a log, after which its clock starts again.
func restarts() string {
	var b strings.Builder
	for i := range 20 {
		fmt.Fprintf(&b, "%d,%d\n", i, i*1000)
	}
	return b.String()
}

func columnNames(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "c%d,", i)
	}
	return b.String()
}

// message writes one message to a language server.
func message(w io.Writer, body string) {
	fmt.Fprintf(w, "Content-Length: %d\r\n\r\n%s", len(body), body)
}

// bomb is a workbook one part of which unpacks to 16 GiB of blanks.
func bomb(name string) func(io.Writer) {
	return func(w io.Writer) {
		// A block that is flushed can follow itself.
		var block bytes.Buffer
		deflate, err := flate.NewWriter(&block, flate.BestCompression)
		if err != nil {
			panic(err) // the level is one
		}
		blanks := bytes.Repeat([]byte(" "), 16<<20)
		_, _ = deflate.Write(blanks)
		_ = deflate.Flush()
		const times = 1024
		z := zip.NewWriter(w)
		for _, part := range []struct{ name, text string }{
			{"xl/workbook.xml", `<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>`},
			{"xl/_rels/workbook.xml.rels", `<R><Relationship Id="r1" Target="worksheets/sheet1.xml"/></R>`},
		} {
			if f, err := z.Create(part.name); err == nil {
				io.WriteString(f, part.text)
			}
		}
		h := &zip.FileHeader{Name: name, Method: zip.Deflate, CompressedSize64: uint64(block.Len() * times), UncompressedSize64: uint64(len(blanks) * times)}
		if f, err := z.CreateRaw(h); err == nil {
			for range times {
				_, _ = f.Write(block.Bytes())
			}
		}
		z.Close()
	}
}

// manyParts is a zip file of nothing but names.
func manyParts(w io.Writer) {
	z := zip.NewWriter(w)
	for i := range 600_000 {
		_, _ = z.CreateHeader(&zip.FileHeader{Name: fmt.Sprint(i), Method: zip.Store})
	}
	z.Close()
}
