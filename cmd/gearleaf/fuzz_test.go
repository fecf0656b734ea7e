package main

import (
	"archive/zip"
	"bytes"
	"os"
	"strings"
	"testing"

	"gearleaf/sheet/diag"
)

// fuzzed are the commands that FuzzCommands runs; {} is replaced by more words.
var fuzzed = []string{
	"calc a.leaf {}",
	"calc a.leaf --full --charts {}",
	"calc a.leaf --json {}",
	"check a.leaf {}",
	"fmt a.leaf {}",
	"change a.leaf {}",
	"change a.leaf --write {}",
	"export a.leaf --format csv -o - {}",
	"export a.leaf --format json -o - {}",
	"export a.leaf --format markdown -o - {}",
	"export a.leaf --format svg -o out.svg {}",
	"trace a.leaf {}",
	"solve a.leaf {}",
	"log a.leaf data {}",
	"log a.leaf data --guess {}",
	"log a.leaf data --json {}",
	"fit a.leaf data {}",
	"passes list data {}",
	"passes add data a.leaf {}",
	"passes add book a.leaf --log data {}",
	"compare a.leaf b.leaf {}",
	"readback data a.leaf {}",
	"readback data --text {}",
	"units {}",
	"functions {}",
	"man {}",
	"new {}",
	"{}",
}

// bookOf packs parts, separated by lines of four hyphens, as a workbook.
func bookOf(parts []byte) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	names := []string{"xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/sharedStrings.xml", "docProps/custom.xml", "xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml"}
	for i, part := range bytes.SplitN(parts, []byte("\n----\n"), len(names)) {
		f, err := z.CreateHeader(&zip.FileHeader{Name: names[i], Method: zip.Store})
		if err != nil {
			panic(err) // a buffer takes everything
		}
		_, _ = f.Write(part)
	}
	_ = z.Close()
	return b.Bytes()
}

const fuzzedBook = `<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Source" r:id="r1"/><sheet name="S" r:id="r2"/></sheets><definedNames><definedName name="a">S!$A$1</definedName></definedNames></workbook>
----
<R><Relationship Id="r1" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Target="/xl/worksheets/sheet2.xml"/></R>
----
<sst><si><t>a</t></si><si><r><t>b</t></r><rPh><t>c</t></rPh></si></sst>
----
<P><property name="gearleaf version"><v>1</v></property></P>
----
<worksheet><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c t="inlineStr"><is><t>x_x000D_</t></is></c></row></sheetData></worksheet>
----
<worksheet><sheetData><row><c><f t="shared" si="0">A1+B2</f><v>1</v></c><c><f t="shared" si="0"/></c></row></sheetData></worksheet>`

// FuzzCommands runs commands on files and words of any kind, as bytes: a
// worksheet, and a log, a book of passes or a workbook. Nothing may panic,
// print what a terminal acts upon, end with another status than it says, or
// change a worksheet that is not to be written.
func FuzzCommands(f *testing.F) {
	const small = "a : 2 mm ± 1 mm range 1..3 \"label\"\nb = a * 2 as in to 0.1\ntable t\n  x : 1, 2, 3\n  y = x^2 + prev(y) start 0\nlimit b <= 3 mm \"no\"\nchart \"c\" x t.x y t.y\n"
	pass := loggedSheet + "speed = last(run.time)\n"
	log := "time,engine_speed\n" + "0,5000\n0.01,5100\n0.02,5200\n0.03,5300\n0.04,5400\n0.05,5500\n0.06,5600\n0.07,5700\n0.08,5800\n0.09,5900\n"
	for i := range fuzzed {
		f.Add(byte(i), small, "a=3", []byte("x,y\n1,2\n"))
		f.Add(byte(i), pass, "--by b --cell b --set a=3", []byte(log))
		f.Add(byte(i), "table t from \"data\"\n  x : from \"x\"\n  y : from \"y\" mm\n", "b --json", []byte("x;y [mm]\n1;2,5\n3;4,5\n"))
		f.Add(byte(i), "use \"b.leaf\"\na : 3\nc = a\n", "c=4 --by a", []byte("pass,at,note,check\n1,now,x,ab\n"))
		f.Add(byte(i), small, "b=1 --by a", []byte(fuzzedBook))
	}
	f.Fuzz(func(t *testing.T, which byte, sheet, words string, more []byte) {
		if len(sheet)+len(more) > 1<<13 || strings.ContainsAny(words, "/\\") || strings.Contains(words, "..") && strings.Contains(words, "e") {
			return
		}
		command := fuzzed[int(which)%len(fuzzed)]
		head, _, _ := strings.Cut(command, " ")
		args := strings.Fields(strings.ReplaceAll(command, "{}", ""))
		args = append(args, strings.Fields(words)...)
		if head == "{}" && len(args) > 0 && endless(args[0]) {
			return
		}
		t.Chdir(t.TempDir())
		if strings.HasPrefix(command, "readback") && !bytes.HasPrefix(more, []byte("PK")) {
			more = bookOf(more)
		}
		for name, text := range map[string]string{"a.leaf": sheet, "b.leaf": "a : 1\nb = a * 2\n", "data": string(more)} {
			if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		var out, errs bytes.Buffer
		completesFlags = len(args) > 0 && strings.HasPrefix(args[0], "__complete")
		status := run(args, strings.NewReader(sheet), &out, &errs)
		if status < 0 || status > 2 || status == 2 && errs.Len() == 0 {
			t.Fatalf("%q: status %d, %q", args, status, errs.String())
		}
		isData := strings.Contains(command, "-o -") || strings.Contains(command, "--text") || head == "fmt" || head == "{}" || strings.Contains(words, "-")
		shown := errs.String()
		if !isData {
			shown += out.String()
		}
		for _, r := range shown {
			if r != '\n' && r != '\t' && r != '\ufffd' && diag.Visible(r) != r {
				t.Fatalf("%q: %U reaches the terminal: %q", args, r, shown)
			}
		}
		now, err := os.ReadFile("a.leaf")
		if err != nil || string(now) != sheet && !strings.Contains(strings.Join(args, " "), "--w") && !strings.Contains(words, "--fo") && !strings.Contains(words, "--re") {
			t.Fatalf("%q: the worksheet was changed (%v)", args, err)
		}
	})
}

// endless reports whether a command continues until it is stopped, or takes as
// long as its options ask for.
func endless(command string) bool {
	switch command {
	case "watch", "lsp", "serve", "sweep", "best", "spread", "worth", "completion":
		return true
	}
	return false
}
