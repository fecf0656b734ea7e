package syntax_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// codes returns the codes of the errors of text, with their lines.
func codes(t *testing.T, text string) (list []diag.Code, lines []int) {
	t.Helper()
	file := source.New("x", text)
	_, found := syntax.Parse(file)
	for _, d := range found {
		list = append(list, d.Code)
		lines = append(lines, file.Position(d.Span.Start).Line)
	}
	return list, lines
}

// wantOne holds that text has one error, of the given code in the given line.
func wantOne(t *testing.T, text string, code diag.Code, line int) {
	t.Helper()
	list, lines := codes(t, text)
	if len(list) != 1 || list[0] != code || lines[0] != line {
		t.Errorf("got %v in lines %v, want %s in line %d", list, lines, code, line)
	}
}

func TestControlCharacters(t *testing.T) {
	wantOne(t, "x : \"a\x01b\"\n", diag.CharacterControl, 1)
	wantOne(t, "x : 3\ny = a \x00+ b\n", diag.CharacterControl, 2)
	wantOne(t, "x : \r3\n", diag.CharacterControl, 1)
	wantOne(t, "x : 3\n# no\x07te\ny : 4\n", diag.CharacterControl, 2)
	wantOne(t, "x : 3  # no\x1bte\ny : 4\n", diag.CharacterControl, 1)
	wantOne(t, "table t\n  | a |\n  | b\x02c |\n", diag.CharacterControl, 3)
}

func TestNotUTF8(t *testing.T) {
	wantOne(t, "x : 3\ny : \"a\xffb\"\n", diag.FileEncoding, 2)
	text := "x:3\ny : \"a\xffb\"\n"
	if got := printed(text); got != text {
		t.Errorf("printed as %q", got)
	}
}

func TestDeepBrackets(t *testing.T) {
	deep := func(open, close string, n int) string {
		return "x = " + strings.Repeat(open, n) + "1" + strings.Repeat(close, n) + "\ny : 3\n"
	}
	for _, n := range []int{source.MaxDepth + 1, 100_000} {
		wantOne(t, deep("(", ")", n), diag.FormulaDepth, 1)
		wantOne(t, deep("f(", ")", n), diag.FormulaDepth, 1)
		wantOne(t, deep("-", "", n), diag.FormulaDepth, 1)
		wantOne(t, deep("not ", "", n), diag.FormulaDepth, 1)
		wantOne(t, deep("2^", "", n), diag.FormulaDepth, 1)
		wantOne(t, deep("t.c[", "]", n), diag.FormulaDepth, 1)
		wantOne(t, deep("if a then b else ", "", min(n, 50_000)), diag.FormulaDepth, 1)
		wantOne(t, deep("(", "", n), diag.FormulaDepth, 1)
		wantOne(t, strings.Replace(deep("(", ")", n), "x = ", "limit ", 1), diag.FormulaDepth, 1)
		wantOne(t, strings.Replace(deep("(", ")", n), "=", ":", 1), diag.GivenFormula, 1)
	}
	if list, _ := codes(t, deep("(", ")", source.MaxDepth)); len(list) > 0 {
		t.Errorf("%d levels: %v", source.MaxDepth, list)
	}
}

func TestLongFormula(t *testing.T) {
	for _, op := range []string{" + ", " * ", " and ", " or ", " < "} {
		long := "x = a" + strings.Repeat(op+"a", source.MaxOperators)
		if list, _ := codes(t, long); len(list) > 0 {
			t.Errorf("%d%s: %v", source.MaxOperators, op, list)
		}
		wantOne(t, long+op+"a", diag.FormulaLong, 1)
	}
}

func TestLongLine(t *testing.T) {
	long := strings.Repeat("1, ", source.MaxLineBytes/3)
	for _, c := range []struct {
		text string
		line int
	}{
		{"a : 3\nx : " + long + "1\ny : 3\n", 2},
		{"# " + long + "\nx : 3\n", 1},
		{"a : 3\n\n  # " + long + "\nx : 3\n", 3},
		{"a : 3\nb : 4 # " + long, 2},
		{"table t\n  # " + long + "\n  a : 1, 2\n", 2},
		{"x = max(1,\n" + long + "2)\n", 2},
		{"table t\n  | a |" + strings.Repeat(" ", source.MaxLineBytes) + "\n", 2},
		{"a : 3\n" + strings.Repeat(" ", source.MaxLineBytes+1) + "\n", 2},
	} {
		wantOne(t, c.text, diag.LineLong, c.line)
		if got := printed(c.text); got != c.text {
			t.Errorf("a long line %d is printed otherwise", c.line)
		}
	}
	full := "a : 3 # " + strings.Repeat("x", source.MaxLineBytes-len("a : 3 # "))
	if list, _ := codes(t, full+"\r\nb : 3\n"+full); len(list) > 0 && list[0] == diag.LineLong {
		t.Errorf("a line of %d bytes: %v", len(full), list)
	}
}

func TestManyErrors(t *testing.T) {
	list, _ := codes(t, strings.Repeat("X : 3\n", 100_000))
	if len(list) != source.MaxErrors+1 || list[source.MaxErrors] != diag.TooManyErrors {
		t.Errorf("%d errors, the last %s", len(list), list[len(list)-1])
	}
}

func TestMark(t *testing.T) {
	const mark = "\ufeff"
	if list, _ := codes(t, mark+"gearleaf 1\nx : 3\n"); len(list) > 0 {
		t.Errorf("%v", list)
	}
	if got, want := printed(mark+"\n\nx  :  3"), mark+"x : 3\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	wantOne(t, "x : 3\n"+mark+"y : 4\n", diag.CharacterBlank, 2)
}
