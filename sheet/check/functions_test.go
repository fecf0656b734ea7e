package check_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
)

// TestFunctions checks sheets with functions of their own: what is found, and
// the type of the cell x.
func TestFunctions(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"units on every parameter", "function area(w: mm, h: mm) as m2\n  = w * h\nx = area(1 in, 2 ft)\n", "m2 in m2"},
		{"a result that is worked out", "function area(w: mm, h: mm)\n  = w * h\nx = area(1 in, 2 ft)\n", "m2 in m2"},
		{"steps and a text", "function named(fuel: text, mass: kg) as kg\n  part = if fuel = \"methanol\" then 0.5 else 1\n  twice = 2 * part\n  = twice * mass\nx = named(\"methanol\", 3 lb)\n", "kg in kg"},
		{"a text as result", "function which(n: 1) as text\n  = if n > 3 then \"many\" else \"few\"\nx = which(2)\n", "text"},
		{"a truth as result", "function many(n: 1)\n  = n > 3\nx = many(2)\n", "truth"},
		{"parameters that take anything", "function half(a)\n  = a / 2\nx = half(3 kg)\ny = half(3 m)\nz = half(3 kg)\n", "kg in kg"},
		{"one like another", "function left(new: mm, now: new) as 1\n  = (new - now) / new\nx = left(3 in, 2 cm)\n", "1"},
		{"one like another that takes anything", "function left(now: new, new)\n  = new - now\nx = left(3 kg, 4 lb)\n", "kg in kg"},
		{"one like another, and is not", "function left(now: new, new)\n  = new - now\nx = left(3 kg, 4 m)\n", "3:10 dimension-mismatch"},
		{"result made of parameters", "function per(a, b) as a/b\n  = a / b\nx = per(3 kg, 4 s)\n", "kg/s in kg/s"},
		{"a result that is not promised", "function area(w: mm, h: mm) as m\n  = w * h\n", "2:5 dimension-mismatch"},
		{"a result of the wrong kind", "function up(p: psig) as kPa\n  = p\n", "2:5 kind-mismatch"},
		{"a result that takes the promised kind", "function up(p: MPa) as kPa\n  = 2 * p\nx = up(1 MPa)\n", "kg/(m.s2) absolute in kPa"},
		{"turns left in a result", "function power(a: N.m, n: rpm) as kW\n  = a * n\n", "2:5 turns-left"},
		{"an error in a body is reported once", "function f(w: mm)\n  = w + 1 kg\nx = f(1 m) + 3\ny = f(2 m)\n", "2:5 dimension-mismatch"},
		{"an error in a body that takes anything is reported at the call", "function f(w)\n  = w + 1 kg\nx = f(1 m)\ny = f(1 kg)\n", "3:5 call-body"},
		{"a body sees no cells", "mass : 3 kg\nfunction f(w: kg)\n  = w + mass\n", "3:9 body-name"},
		{"a body sees no tables", "table t\n  a : 1, 2\nfunction f(w: kg)\n  = w * last(t.a)\n", "4:14 body-name"},
		{"a body sees the library", "function f(n: rpm) as mph\n  = road_speed(n, 6, 2 m)\nx = f(9000 rpm)\n", "m/s in mph"},
		{"a step further down", "function f(w: kg)\n  a = b\n  b = w\n  = a\n", "2:7 name-unknown"},
		{"a step twice", "function f(w: kg)\n  a = w\n  a = 2 * w\n  = a\n", "3:3 name-duplicate"},
		{"a step named like a parameter", "function f(w: kg)\n  w = 2 * w\n  = w\n", "2:3 name-duplicate"},
		{"a parameter twice", "function f(w: kg, w: m)\n  = w\n", "1:19 name-duplicate"},
		{"an unknown unit", "function f(w: kgg)\n  = w\n", "1:15 unit-unknown"},
		{"no recursion", "function f(w: kg) as kg\n  = g(w)\nfunction g(w: kg) as kg\n  = f(w)\nx = f(1 kg)\n", "1:10 recursion"},
		{"no recursion, called or not", "function f(w)\n  = f(w)\n", "1:10 recursion"},
		{"a function twice", "function f(w: kg)\n  = w\nfunction f(w: m)\n  = w\n", "3:10 name-duplicate"},
		{"the library's is hidden", "function slip(a: m, b: m) as 1\n  = a / b\nx = slip(3 m, 4 m)\n", "1:10 library-shadowed"},
		{"an example that does not fit", "function f(w: kg) as kg\n  example f(3 m)\n  = w\n", "2:13 dimension-mismatch"},
		{"an example that is no call", "mass : 3 kg\nfunction f(w: kg) as kg\n  example f(mass)\n  = w\n", "3:13 body-name"},
		{"a validity that is no condition", "function f(w: kg) as kg\n  valid w \"hm\"\n  = w\n", "2:9 form-mismatch"},
		{"pi inside a function that promises nothing", "function omega(n: rpm)\n  = 2 * pi * n\nx = 100 N.m * omega(9000 rpm)\n", "kg.m2.turn/s3 in kW.turn"},
		{"as on a step fixes its kind", "function f(p: MPa, q: psig) as kPa\n  a = p as kPa\n  = a + q\nx = f(1 MPa, 3 psig)\n", "kg/(m.s2) absolute in kPa"},
	} {
		m, list := sheet(t, c.text)
		got := strings.ReplaceAll(strings.TrimSpace(codes(list)), "sheet.leaf:", "")
		if got == "" {
			if x, _ := m.Resolve("x"); x != nil {
				got = typeText(m, x)
			}
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
			for _, d := range list {
				t.Log(d.Message)
			}
		}
	}
}

// TestInstances checks that a function is checked once for each set of types.
func TestInstances(t *testing.T) {
	m, list := sheet(t, "function half(a)\n  = a / 2\nfunction double(a: mm) as mm\n  = 2 * a\n"+
		"a = half(3 kg)\nb = half(4 lb)\nc = half(3 m)\nd = double(3 m) + double(1 in)\n")
	if list.Errors() {
		t.Fatal(codes(list))
	}
	var names []string
	for _, in := range m.Instances {
		names = append(names, in.Name)
	}
	if got := strings.Join(names, " "); got != "half half double" {
		t.Errorf("instances %s", got)
	}
	if in := m.Instances[2]; in.Size != 3 || in.Unit.Symbol != "mm" || len(in.Params) != 1 {
		t.Errorf("instance %+v", in)
	}
}

// TestExpansion checks that the size of a formula when its calls are written
// out is counted without writing it out.
func TestExpansion(t *testing.T) {
	var b strings.Builder
	b.WriteString("function f0(x: 1) as 1\n  = x + x\n")
	for i := 1; i < 60; i++ {
		fmt.Fprintf(&b, "function f%d(x: 1) as 1\n  = f%d(x) + f%d(x)\n", i, i-1, i-1)
	}
	_, list := sheet(t, b.String()+"x = f59(1)\n")
	if !list.Errors() || list[0].Code != "too-large" {
		t.Errorf("found\n%s", codes(list))
	}
	b.Reset()
	b.WriteString("function f0(x: 1) as 1\n  = x\n")
	for i := 1; i < 2*source.MaxDepth; i++ {
		fmt.Fprintf(&b, "function f%d(x: 1) as 1\n  = f%d(x)\n", i, i-1)
	}
	_, list = sheet(t, b.String()+fmt.Sprintf("x = f%d(1)\n", 2*source.MaxDepth-1))
	if !list.Errors() || list[0].Code != "too-large" {
		t.Errorf("deep: found\n%s", codes(list))
	}
	b.Reset()
	b.WriteString("function f(x: 1) as 1\n  = x" + strings.Repeat(" + x", 4990) + "\nx = 0")
	for range source.MaxExpanded / 10_000 {
		b.WriteString(" + f(1)")
	}
	if _, list = sheet(t, b.String()+"\n"); list.Errors() {
		t.Errorf("within the bound: found\n%s", codes(list))
	}
	if _, list = sheet(t, b.String()+" + f(1) + f(2)\n"); len(list) != 1 || list[0].Code != "too-large" {
		t.Errorf("one call too many: found\n%s", codes(list))
	}
}

// TestGrowth checks that functions which take anything, and call each other
// with more and more types, end at a bound.
func TestGrowth(t *testing.T) {
	var b strings.Builder
	b.WriteString("function f0(a) as 1\n  = 1 + a\n")
	for i := 1; i < 150; i++ {
		fmt.Fprintf(&b, "function f%d(a)\n  = f%d(a) + f%d(a)\n", i, i-1, i-1)
	}
	_, list := sheet(t, b.String()+"x = f149(1 m)\n")
	if len(list) != 1 || list[0].Code != "call-body" || !strings.Contains(list[0].Message, "+: 1 is a plain number, a is length") || len(list[0].Message) > 200 {
		t.Errorf("found\n%s%s", codes(list), list[0].Message)
	}
	if testing.Short() {
		return
	}
	b.Reset()
	b.WriteString("function f0(a)\n  = 0\n")
	for i := 1; i < 60; i++ {
		fmt.Fprintf(&b, "function f%d(a)\n  = f%d(a * 1 m) + f%d(a * 1 kg) + f%d(a / 1 s) + f%d(a * 1 A) + f%d(a / 1 mol)\n", i, i-1, i-1, i-1, i-1, i-1)
	}
	_, list = sheet(t, b.String()+"x = f19(1)\n")
	if !list.Errors() {
		t.Error("nothing found")
	}
}

// printNode writes a node for tests, operations by their places in the list.
func printNode(m *check.Model, id check.NodeID) string {
	n := m.Node(id)
	args := func() string {
		var list []string
		for _, a := range m.ArgsOf(n) {
			list = append(list, printNode(m, a))
		}
		return strings.Join(list, ", ")
	}
	switch n.Op {
	case check.Const:
		return fmt.Sprint(n.Num())
	case check.CellRef:
		return m.Cells[n.Ref()].Name
	case check.ColumnRef:
		return m.Columns[n.Ref()].Name
	case check.Aggregate:
		return kernel.Aggregate(n.A).String() + " " + m.Columns[n.Ref()].Name
	case check.PrevRef:
		return "prev(" + m.Columns[n.Ref()].Name + ")"
	case check.RowRef:
		return "row"
	case check.ParamRef:
		return fmt.Sprint("$", n.Ref())
	case check.StepRef:
		return fmt.Sprint("step", n.Ref())
	case check.If:
		then, other := m.BranchesOf(n)
		return "if " + printNode(m, n.A) + " then " + printNode(m, then) + " else " + printNode(m, other)
	case check.Call:
		return m.Instances[n.Ref()].Name + "(" + args() + ")"
	case check.ValidCall:
		in, cond := m.ResultOf(n)
		which := slices.IndexFunc(in.Valids, func(v check.Valid) bool { return v.Cond == cond })
		return fmt.Sprintf("valid%d %s(%s)", which, in.Name, args())
	}
	symbols := map[check.Op]string{check.And: "and", check.Or: "or", check.Less: "<", check.LessEqual: "<=", check.Greater: ">", check.Equal: "=", check.Add: "+", check.Mul: "*"}
	return "(" + printNode(m, n.A) + " " + symbols[n.Op] + " " + printNode(m, n.B) + ")"
}

// TestValidity checks which conditions a cell should keep, with the branches
// that they are in.
func TestValidity(t *testing.T) {
	const functions = "function f(x: 1) as 1\n  valid x > 0 \"f needs more\"\n  = x\n" +
		"function g(x: 1) as 1\n  valid x < 9\n  = if x > 5 then f(x) else 2\n" +
		"a : 3\nb : 4\n"
	for _, c := range []struct {
		text string
		want []string
	}{
		{"x = f(a) + 1\n", []string{"x: valid0 f(a) | f: valid for x > 0 (f needs more)"}},
		{"x = if a > b then f(a) else 3\n", []string{"x: if (a > b) then valid0 f(a) else 1 | f: valid for x > 0 (f needs more)"}},
		{"x = if a > b then 3 else f(a)\n", []string{"x: if (a > b) then 1 else valid0 f(a) | f: valid for x > 0 (f needs more)"}},
		{"x = a > b and f(a) > 2\n", []string{"x: if (a > b) then valid0 f(a) else 1 | f: valid for x > 0 (f needs more)"}},
		{"x = a > b or f(a) > 2\n", []string{"x: if (a > b) then 1 else valid0 f(a) | f: valid for x > 0 (f needs more)"}},
		{"x = f(a) + f(b)\n", []string{"x: (valid0 f(a) and valid0 f(b)) | f: valid for x > 0 (f needs more)"}},
		{"x = f(f(a))\n", []string{"x: (valid0 f(a) and valid0 f(f(a))) | f: valid for x > 0 (f needs more)"}},
		{"x = 1 < f(a) < 3\n", []string{"x: valid0 f(a) | f: valid for x > 0 (f needs more)"}},
		{"x = g(a)\n", []string{"x: valid0 g(a) | g: valid for x < 9", "x: valid1 g(a) | f: valid for x > 0 (f needs more)"}},
		{"limit f(a) > 1\nx = a\n", nil},
		{"table t\n  u : 1, 2\n  y = f(u)\n", []string{"y: valid0 f(u) | f: valid for x > 0 (f needs more)"}},
		{"table t rows 3\n  y = f(prev(y)) start f(a)\n", []string{
			"y: (if (row = 1) then valid0 f(a) else 1 and if (row = 1) then 1 else valid0 f(prev(y))) | f: valid for x > 0 (f needs more)",
		}},
		{"table t\n  u : 1, 2\n  v : 5, 6\nx = if a > b then lookup_clamped(a, t.u, t.v) else lookup(a, t.u, t.v)\n", []string{
			"x: if (a > b) then ((min u <= a) and (a <= max u)) else 1 | lookup_clamped: valid for min(t.u) <= a <= max(t.u) (beyond its ends the curve is not known; the value of the end is used)",
		}},
		{"c : 3 mm range 1..4\nd : 3 range 1..4\ntable t\n  u : 1, 2 s range 0..1\n", []string{
			"c: ((0.001 <= c) and (c <= 0.004)) | outside its range 1..4 mm",
			"d: ((1 <= d) and (d <= 4)) | outside its range 1..4",
			"u: ((0 <= u) and (u <= 1)) | outside its range 0..1 s",
		}},
	} {
		m, list := sheet(t, functions+c.text)
		if list.Errors() {
			t.Errorf("%s%s", c.text, codes(list))
			continue
		}
		var got []string
		for _, a := range m.Advices {
			name := ""
			if a.Cell != nil {
				name = a.Cell.Name
			} else {
				name = a.Column.Name
			}
			got = append(got, name+": "+printNode(m, a.Cond)+" | "+a.Text)
		}
		if fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%sgot  %s\nwant %s", c.text, strings.Join(got, "\n     "), strings.Join(c.want, "\n     "))
		}
	}
	m, _ := sheet(t, functions+"x = g(a)\n")
	for _, in := range m.Instances {
		if in.Name == "g" {
			if got := printNode(m, in.Valids[1].Cond); got != "if ($0 > 5) then valid0 f($0) else 1" {
				t.Errorf("the condition carried out of g is %s", got)
			}
		}
	}
}
