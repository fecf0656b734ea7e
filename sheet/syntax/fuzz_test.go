package syntax_test

import (
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// sameTree compares trees, places left out.
var sameTree = cmp.Options{
	cmpopts.IgnoreTypes(source.Span{}),
	cmpopts.IgnoreFields(syntax.Worksheet{}, "File"),
	cmpopts.IgnoreUnexported(syntax.Worksheet{}),
	cmpopts.EquateEmpty(),
}

// unequal is a grid with errors whose rows have unequal bars: what each line is
// depends on blanks that the lines around it move.
const unequal = "ABle \n  | 00000000| 00000000000| |00\n  | A0000000| 0000000000| |\n  | A0000000| 000000000 | 0| |"

func seed(f *testing.F) {
	f.Add(unequal)
	for _, text := range sheets(f) {
		f.Add(text)
		f.Add(strings.ReplaceAll(text, "\n", "\r\n"))
		f.Add("\ufeff" + strings.ReplaceAll(text, " ", "\t"))
	}
	for _, c := range cases(f) {
		f.Add(c.text)
	}
}

func FuzzParse(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, text string) {
		file := source.New("x", text)
		w, list := syntax.Parse(file)
		if len(list) > source.MaxErrors+1 {
			t.Fatalf("%d errors", len(list))
		}
		for _, d := range list {
			checkPlaces(t, file, d)
		}
		for _, s := range w.Stmts {
			inText(t, file, s.Base().Span)
			for _, e := range expressions(s) {
				checkWhole(t, file, e)
			}
		}
		syntax.ParseExpr(text)
		syntax.ParseQuantity(text)
	})
}

// known is the codes that the list of codes has.
var known = func() map[diag.Code]bool {
	codes := map[diag.Code]bool{}
	for _, row := range diag.Codes() {
		codes[row.Code] = true
	}
	return codes
}()

// checkPlaces holds that everything d points at is in the text.
func checkPlaces(t *testing.T, file *source.File, d diag.Diagnostic) {
	t.Helper()
	if d.File != file || d.Message == "" || !known[d.Code] {
		t.Fatalf("a diagnostic without file, message or a code in the list: %+v", d)
	}
	inText(t, file, d.Span)
	for _, r := range d.Repairs {
		for _, e := range r.Edits {
			inText(t, file, e.Span)
		}
	}
}

func inText(t *testing.T, file *source.File, s source.Span) {
	t.Helper()
	if s.Start < 0 || s.End < s.Start || int(s.End) > len(file.Text) {
		t.Fatalf("span %v of a text of %d bytes", s, len(file.Text))
	}
}

func FuzzPrint(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, text string) {
		w, list := syntax.Parse(source.New("x", text))
		once := syntax.Print(w)
		if squeeze(once) != squeeze(text) {
			t.Fatalf("printing changed more than blanks:\n%q\n%q", text, once)
		}
		again, listAgain := syntax.Parse(source.New("x", once))
		if twice := syntax.Print(again); twice != once {
			t.Fatalf("%q printed twice (-once +twice):\n%s", text, cmp.Diff(once, twice))
		}
		if list.Errors() || listAgain.Errors() {
			if len(list) != len(listAgain) {
				t.Fatalf("printing turned the errors %v into %v", list, listAgain)
			}
			return
		}
		if diff := cmp.Diff(w, again, sameTree); diff != "" {
			t.Fatalf("printing changed the tree (-before +after):\n%s", diff)
		}
	})
}

// squeeze takes the blanks out of text.
func squeeze(text string) string {
	return strings.Map(func(r rune) rune {
		if r < 0x80 && unicode.IsSpace(r) {
			return -1
		}
		return r
	}, text)
}

// expressions returns the expressions that every statement of the kind of s
// has.
func expressions(s syntax.Stmt) []syntax.Expr {
	switch s := s.(type) {
	case *syntax.Cell:
		return cellExpressions(s)
	case *syntax.Limit:
		return []syntax.Expr{s.Cond}
	case *syntax.Chart:
		return append([]syntax.Expr{s.X}, s.Y...)
	case *syntax.Table:
		var all []syntax.Expr
		for _, c := range append(syntax.GridColumns(s), s.Columns...) {
			all = append(all, cellExpressions(c)...)
		}
		return all
	case *syntax.Function:
		all := append([]syntax.Expr{s.Body}, s.Example...)
		for _, v := range s.Valid {
			all = append(all, v.Cond)
		}
		for _, c := range s.Steps {
			all = append(all, cellExpressions(c)...)
		}
		return all
	}
	return nil
}

func cellExpressions(c *syntax.Cell) []syntax.Expr {
	all := append(append([]syntax.Expr(nil), c.Values...), c.Choice...)
	if !c.Given {
		all = append(all, c.Formula)
	}
	if c.Range != nil {
		all = append(all, c.Range.Lo, c.Range.Hi)
	}
	return all
}

// checkWhole holds that no part of e is missing or points out of the text.
func checkWhole(t *testing.T, file *source.File, e syntax.Expr) {
	t.Helper()
	if e == nil {
		t.Fatalf("an expression is missing in %q", file.Text)
	}
	inText(t, file, e.Pos())
	var parts []syntax.Expr
	switch e := e.(type) {
	case *syntax.Index:
		parts = []syntax.Expr{e.Column, e.Row}
	case *syntax.Call:
		parts = e.Args
	case *syntax.Unary:
		parts = []syntax.Expr{e.X}
	case *syntax.Binary:
		parts = []syntax.Expr{e.X, e.Y}
	case *syntax.Chain:
		parts = e.Operands
	case *syntax.If:
		parts = []syntax.Expr{e.Cond, e.Then, e.Else}
	case *syntax.Paren:
		parts = []syntax.Expr{e.X}
	}
	for _, x := range parts {
		checkWhole(t, file, x)
	}
}
