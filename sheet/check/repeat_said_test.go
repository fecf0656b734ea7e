package check_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// TestRepeatsOfPi: a cell may be called pi, and formulas that read it wait
// for it as for any other.
func TestRepeatsOfPi(t *testing.T) {
	text := "n1 : 3\na1 : 2 kg\na2 : 3 kg\nfirst = c2\nc1 = a1 * pi\nc2 = a2 * pi\npi = n1 * 1 m\n"
	if got := sameWithRepeats(t, text, check.Library{}); got != 1 {
		t.Errorf("%d repeats, want 1", got)
	}
}

// TestRepeatsOfAmbient: the ambient value that is offered is one that was
// known when the slip was found.
func TestRepeatsOfAmbient(t *testing.T) {
	text := "boost : 5 psig\nexhaust : 14 psia\nc1 = boost / boost + exhaust\nc2 = boost / exhaust + ambient\nc3 = boost / exhaust + ambient\nambient = 2 * exhaust\n"
	sameWithRepeats(t, text, check.Library{})
}

// TestRepeatsBeyondTheBound: where more is found than is listed, the same is
// listed.
func TestRepeatsBeyondTheBound(t *testing.T) {
	var text strings.Builder
	text.WriteString("a : 1 kg\nb : 1 m\n")
	for i := range source.MaxErrors {
		fmt.Fprintf(&text, "p%d = a + b\n", i)
	}
	for i := range source.MaxErrors {
		fmt.Fprintf(&text, "q%d = nobody%d * a\n", i, i)
	}
	sameWithRepeats(t, text.String(), check.Library{})
}

// TestRepeatsOfSeveralFiles: what is said about several files stands in the
// same order.
func TestRepeatsOfSeveralFiles(t *testing.T) {
	lists := [2]diag.List{}
	top := source.New("top.leaf", "k : 1 kg\nl : 1 m\nw = k + l\nuse \"used.leaf\"\n")
	used := source.New("used.leaf", filler+"a : 1 kg\nb : 1 kg\nc1 = a + b\nc2 = a + nobody\n")
	for i, parse := range []func(*source.File) (*syntax.Worksheet, diag.List){syntax.Parse, syntax.ParseRepeats} {
		first, _ := parse(top)
		second, _ := parse(used)
		use, _ := first.Stmts[3].(*syntax.Use)
		_, lists[i] = check.Check(check.Input{Files: []check.File{
			{Tree: first, Uses: map[*syntax.Use]int{use: 1}}, {Tree: second, Uses: map[*syntax.Use]int{}},
		}})
	}
	if len(lists[0]) != 2 || !reflect.DeepEqual(lists[1], lists[0]) {
		t.Errorf("with repeats\n%v\nwithout\n%v", lists[1], lists[0])
	}
}

// TestRepeatsAreNoBodies: operations of the sheet's own formulas do not count
// among those of functions' bodies, whether they were taken over or read.
func TestRepeatsAreNoBodies(t *testing.T) {
	if testing.Short() {
		t.Skip("five million operations")
	}
	const operands = 190
	var text strings.Builder
	text.WriteString("function near(x: m) as m\n  valid x < 3 m\n  = x\nfunction far(x: m) as m\n  = x + x\nb : 1 m\n")
	for i := range source.MaxBodies/(2*operands) + 10 {
		fmt.Fprintf(&text, "c%d = near(b)%s\n", i, strings.Repeat("+b", operands-1))
	}
	text.WriteString("z = far(b)\n")
	f := source.New("sheet.leaf", text.String())
	_, want, _ := checkText(f, false, check.Library{})
	_, got, repeats := checkText(f, true, check.Library{})
	if repeats == 0 || !reflect.DeepEqual(got, want) {
		t.Errorf("%d repeats; with them\n%v\nwithout\n%v", repeats, got, want)
	}
}

// TestLibraryTableInAFormula: what a formula is stays known when it brings in
// a table of the library, which adds columns to those of the sheet.
func TestLibraryTableInAFormula(t *testing.T) {
	m, list, _ := checkText(source.New("sheet.leaf", "x = first(fuels.density) * 2\ny = x + 1 m\n"), false, library(t))
	x, _ := m.Resolve("x")
	if got := typeText(m, x); got != "kg/m3 in kg/m3" || !list.Errors() {
		t.Errorf("x is %s, want kg/m3; found %v", got, list)
	}
}
