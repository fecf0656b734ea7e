package syntax_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

var update = flag.Bool("update", false, "write the reports into testdata/error; read what has changed")

// errorCase is a worksheet with errors and the report on it, as
// testdata/error has them:
//
//	=== the error
//	the worksheet
//	---
//	line:column code «marked» message
//	  help: the correction
//	  > the text of a repair, the lines that it changes
type errorCase struct {
	name, text, want string
}

// cases returns the cases of all files in testdata/error.
func cases(tb testing.TB) []errorCase {
	tb.Helper()
	names, _ := filepath.Glob("testdata/error/*.txt")
	sort.Strings(names)
	var all []errorCase
	for _, name := range names {
		all = append(all, casesIn(tb, name)...)
	}
	return all
}

func casesIn(tb testing.TB, name string) []errorCase {
	tb.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		tb.Fatal(err)
	}
	var list []errorCase
	for _, part := range strings.Split("\n"+string(data), "\n=== ")[1:] {
		title, rest, _ := strings.Cut(part, "\n")
		text, want, _ := strings.Cut(rest+"\n", "\n---\n")
		list = append(list, errorCase{title, text + "\n", strings.TrimSpace(want) + "\n"})
	}
	return list
}

func TestErrors(t *testing.T) {
	names, _ := filepath.Glob("testdata/error/*.txt")
	if len(names) == 0 {
		t.Fatal("no cases in testdata/error")
	}
	for _, name := range names {
		var out strings.Builder
		for _, c := range casesIn(t, name) {
			got := report(t, c.text)
			fmt.Fprintf(&out, "=== %s\n%s---\n%s\n", c.name, c.text, got)
			if got != c.want && !*update {
				t.Errorf("%s: %s (-want +got):\n%s", name, c.name, cmp.Diff(c.want, got))
			}
		}
		if *update {
			if err := os.WriteFile(name, []byte(strings.TrimRight(out.String(), "\n")+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// report writes the errors of text as a case has them.
func report(t *testing.T, text string) string {
	file := source.New("x", text)
	_, list := syntax.Parse(file)
	list.Sort()
	var b strings.Builder
	for _, d := range list {
		at := file.Position(d.Span.Start)
		fmt.Fprintf(&b, "%d:%d %s «%s» %s\n", at.Line, at.Column, d.Code, strings.ReplaceAll(file.Slice(d.Span), "\n", "⏎"), d.Message)
		if d.Help != "" {
			fmt.Fprintf(&b, "  help: %s\n", d.Help)
		}
		for _, r := range d.Repairs {
			fmt.Fprintf(&b, "  > %s\n", strings.ReplaceAll(repaired(t, file, d, r), "\n", "⏎"))
		}
	}
	if b.Len() == 0 {
		return "no error\n"
	}
	return b.String()
}

// repaired returns the lines that r changes, changed. It holds that the
// repair cures d: the same error does not occur there again.
func repaired(t *testing.T, file *source.File, d diag.Diagnostic, r diag.Repair) string {
	text := file.Text
	edits := append([]diag.Edit(nil), r.Edits...)
	sort.SliceStable(edits, func(i, j int) bool { return edits[i].Span.Start > edits[j].Span.Start })
	for _, e := range edits {
		text = text[:e.Span.Start] + e.New + text[e.Span.End:]
	}
	mended := source.New("x", text)
	_, after := syntax.Parse(mended)
	for _, a := range after {
		if a.Code == d.Code && a.Span.Start == d.Span.Start && mended.Slice(a.Span) == file.Slice(d.Span) {
			t.Errorf("%q: the repair %q does not cure %s:\n%s", file.Text, r.Title, d.Code, text)
		}
	}
	last := edits[len(edits)-1]
	from := strings.LastIndexByte(text[:last.Span.Start], '\n') + 1
	to := len(text)
	if n := strings.IndexByte(text[min(len(text), int(edits[0].Span.Start)):], '\n'); n >= 0 {
		to = int(edits[0].Span.Start) + n
	}
	return text[from:max(from, to)]
}
