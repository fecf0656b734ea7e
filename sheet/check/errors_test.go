package check_test

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

var update = flag.Bool("update", false, "write the reports into testdata/error; read what has changed")

// TestErrors compares the reports on the worksheets in testdata/error with the
// expected ones below each:
//
//	=== the error
//	the worksheet; several of them, and their files, as "-- name --" and lines
//	---
//	file:line:column code «marked» message
//	  help: the correction
//	  > the text of a repair in the place of what it replaces
func TestErrors(t *testing.T) {
	names, _ := filepath.Glob("testdata/error/*.txt")
	if len(names) == 0 {
		t.Fatal("no cases in testdata/error")
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var out strings.Builder
		for _, part := range strings.Split("\n"+string(data), "\n=== ")[1:] {
			title, rest, _ := strings.Cut(part, "\n")
			text, want, _ := strings.Cut(rest+"\n", "\n---\n")
			want = strings.TrimSpace(want) + "\n"
			got := reported(t, text+"\n")
			fmt.Fprintf(&out, "=== %s\n%s\n---\n%s\n", title, text, got)
			if got != want && !*update {
				t.Errorf("%s: %s (-want +got):\n%s", name, title, cmp.Diff(want, got))
			}
		}
		if *update {
			if err := os.WriteFile(name, []byte(strings.TrimRight(out.String(), "\n")+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// reported writes what parsing and checking say of a worksheet, or of several.
func reported(t *testing.T, text string) string {
	if !strings.HasPrefix(text, "-- ") {
		text = "-- sheet.leaf --\n" + text
	}
	names, texts := archive(text)
	in := check.Input{Library: library()}
	index := map[string]int{}
	var list diag.List
	for _, name := range names {
		if strings.HasSuffix(name, ".csv") {
			continue
		}
		tree, found := syntax.Parse(source.New(name, texts[name]))
		list = append(list, found...)
		uses := map[*syntax.Use]int{}
		index[name] = len(in.Files)
		in.Files = append(in.Files, check.File{Tree: tree, Uses: uses})
	}
	for _, f := range in.Files {
		for _, s := range f.Tree.Stmts {
			if u, ok := s.(*syntax.Use); ok {
				f.Uses[u] = index[u.Path.Text]
			}
		}
	}
	in.CSV = func(_ int, path string, _ []string) (*check.CSV, error) {
		text, ok := texts[path]
		switch {
		case !ok:
			return nil, errors.New(path + " cannot be read: no such file")
		case strings.HasPrefix(text, "!"):
			return nil, check.CSVError{Message: strings.TrimSpace(text[1:]), Help: "mend the file"}
		}
		csv := parseCSV(path, text)
		for i, h := range csv.Heads {
			r := runlog.ReadHead(h.Text)
			csv.Heads[i] = check.Head{Text: r.Text, Name: r.Name, Unit: r.Unit, Spelled: runlog.SpellUnit(r.Unit), Suffix: r.Suffix()}
		}
		if i := strings.IndexByte(csv.Heads[0].Text, '?'); i >= 0 { // so many doubts
			for n := range len(csv.Heads[0].Text) - i {
				csv.Doubts = append(csv.Doubts, fmt.Sprintf("line %d is odd", n+2))
			}
			csv.Heads[0] = check.Head{Text: csv.Heads[0].Text[:i], Name: csv.Heads[0].Text[:i]}
		}
		return csv, nil
	}
	_, found := check.Check(in)
	return wordsOf(append(list, found...))
}

func wordsOf(list diag.List) string {
	var b strings.Builder
	for _, d := range list {
		at := d.File.Position(d.Span.Start)
		flat := func(s string) string { return strings.ReplaceAll(s, "\n", "⏎") }
		fmt.Fprintf(&b, "%s:%d:%d %s «%s» %s\n", d.File.Name, at.Line, at.Column, d.Code, flat(d.File.Slice(d.Span)), flat(d.Message))
		if d.Help != "" {
			fmt.Fprintf(&b, "  help: %s\n", flat(d.Help))
		}
		for _, r := range d.Repairs {
			for _, e := range r.Edits {
				fmt.Fprintf(&b, "  > %s: «%s» for «%s»\n", r.Title, flat(e.New), flat(d.File.Slice(e.Span)))
			}
		}
	}
	if b.Len() == 0 {
		return "no error\n"
	}
	return b.String()
}
