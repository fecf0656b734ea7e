package syntax_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
)

// shape writes e with every operation in brackets and its word in front.
func shape(e syntax.Expr) string {
	switch e := e.(type) {
	case *syntax.Number:
		if e.Unit != nil {
			return fmt.Sprintf("%g_%s", e.Value, e.Unit.Text)
		}
		return fmt.Sprintf("%g", e.Value)
	case *syntax.Text:
		return fmt.Sprintf("%q", e.Value)
	case *syntax.Truth:
		return map[bool]string{true: "YES", false: "NO"}[e.Value]
	case *syntax.Ref:
		return e.Name.Text
	case *syntax.Column:
		return e.Table.Text + "." + e.Name.Text
	case *syntax.Index:
		return shape(e.Column) + "[" + shape(e.Row) + "]"
	case *syntax.Call:
		return e.Name.Text + "{" + shapes(e.Args, " ") + "}"
	case *syntax.Unary:
		word := "neg"
		if e.Op == syntax.Not {
			word = "not"
		}
		return "(" + word + " " + shape(e.X) + ")"
	case *syntax.Binary:
		return "(" + e.Op.String() + " " + shape(e.X) + " " + shape(e.Y) + ")"
	case *syntax.Chain:
		ops := ""
		for _, op := range e.Ops {
			ops += op.String() + " "
		}
		return "(" + ops + shapes(e.Operands, " ") + ")"
	case *syntax.If:
		return "(if " + shape(e.Cond) + " " + shape(e.Then) + " " + shape(e.Else) + ")"
	case *syntax.Paren:
		return "<" + shape(e.X) + ">"
	}
	return fmt.Sprintf("%T", e)
}

func shapes(list []syntax.Expr, between string) string {
	texts := make([]string, len(list))
	for i, e := range list {
		texts[i] = shape(e)
	}
	return strings.Join(texts, between)
}

func TestParseExpr(t *testing.T) {
	cases := []struct{ text, shape, printed string }{
		{"1+2*3-4/5", "(- (+ 1 (* 2 3)) (/ 4 5))", "1 + 2 * 3 - 4 / 5"},
		{"a-b-c", "(- (- a b) c)", "a - b - c"},
		{"a/b/c", "(/ (/ a b) c)", "a / b / c"},
		{"(a+b)*c", "(* <(+ a b)> c)", "(a + b) * c"},
		{"-2^2", "(neg (^ 2 2))", "-2^2"},
		{"2^-x^y", "(^ 2 (neg (^ x y)))", "2^-x^y"},
		{"2^3^2", "(^ 2 (^ 3 2))", "2^3^2"},
		{"-a*b", "(* (neg a) b)", "-a * b"},
		{"a - -b", "(- a (neg b))", "a - -b"},
		{"--a", "(neg (neg a))", "--a"},
		{"-5", "(neg 5)", "-5"},
		{"-5 degC", "-5_degC", "-5 degC"},
		{"- 5 degC", "-5_degC", "-5 degC"},
		{"a -5 degC", "(- a 5_degC)", "a - 5 degC"},
		{"a - -5 degC", "(- a -5_degC)", "a - -5 degC"},
		{"-5 m ^ 2", "(neg (^ 5_m 2))", "-5 m ^ 2"},
		{"(-5 m) ^ 2", "(^ <-5_m> 2)", "(-5 m)^2"},
		{"5 m/s", "5_m/s", "5 m/s"},
		{"5 m / s", "(/ 5_m s)", "5 m / s"},
		{"5m/s*t", "(* 5_m/s t)", "5 m/s * t"},
		{"(5/8) * 1 in", "(* <(/ 5 8)> 1_in)", "(5 / 8) * 1 in"},
		{"60 lb/(hp.h)*p", "(* 60_lb/(hp.h) p)", "60 lb/(hp.h) * p"},
		{"85 % * x", "(* 85_% x)", "85 % * x"},
		{"29.92inHg + 1e-3bara", "(+ 29.92_inHg 0.001_bara)", "29.92 inHg + 0.001 bara"},
		{".5e1", "5", "5"},
		{"a<b", "(< a b)", "a < b"},
		{"9<x<=11", "(< <= 9 x 11)", "9 < x <= 11"},
		{"a=b", "(= a b)", "a = b"},
		{"a<>b+1", "(<> a (+ b 1))", "a <> b + 1"},
		{"not a<b and c or d", "(or (and (not (< a b)) c) d)", "not a < b and c or d"},
		{"a or b and not not c", "(or a (and b (not (not c))))", "a or b and not not c"},
		{"if a<b then c+1 else if d then e else f", "(if (< a b) (+ c 1) (if d e f))", "if a < b then c + 1 else if d then e else f"},
		{"2*(if a then b else c)", "(* 2 <(if a b c)>)", "2 * (if a then b else c)"},
		{"f()", "f{}", "f()"},
		{"f( a , b+1 , \"x\"\"y\" )", `f{a (+ b 1) "x\"y"}`, `f(a, b + 1, "x""y")`},
		{"prev(speed) + next( speed )", "(+ prev{speed} next{speed})", "prev(speed) + next(speed)"},
		{"row - 1", "(- row 1)", "row - 1"},
		{"yes and no", "(and YES NO)", "yes and no"},
		{"gears.ratio[ row+1 ]", "gears.ratio[(+ row 1)]", "gears.ratio[row + 1]"},
		{"mean(gears.ratio)", "mean{gears.ratio}", "mean(gears.ratio)"},
		{"start + range * choice - label", "(- (+ start (* range choice)) label)", "start + range * choice - label"},
		{"sd + x * y + rows", "(+ (+ sd (* x y)) rows)", "sd + x * y + rows"},
		{"from - until", "(- from until)", "from - until"},
		{"limit + title / unit", "(+ limit (/ title unit))", "limit + title / unit"},
	}
	for _, c := range cases {
		e, list := syntax.ParseExpr(c.text)
		if len(list) > 0 {
			t.Errorf("%s: %s", c.text, list[0].Message)
			continue
		}
		if got := shape(e); got != c.shape {
			t.Errorf("%s: got %s, want %s", c.text, got, c.shape)
		}
		if got := syntax.String(e); got != c.printed {
			t.Errorf("%s prints as %s, want %s", c.text, got, c.printed)
		}
		again, _ := syntax.ParseExpr(c.printed)
		if got := shape(again); got != c.shape {
			t.Errorf("%s, printed and read again: got %s, want %s", c.text, got, c.shape)
		}
	}
}

func TestParseExprErrors(t *testing.T) {
	for text, code := range map[string]diag.Code{
		"":          diag.FormulaGap,
		"a b":       diag.StatementExtra,
		"a +":       diag.FormulaGap,
		"(a":        diag.BracketOpen,
		"a == b":    diag.OperatorSpelling,
		"5/8 in":    diag.UnitFraction,
		"x = y : z": diag.StatementExtra,
	} {
		_, list := syntax.ParseExpr(text)
		if len(list) != 1 || list[0].Code != code {
			t.Errorf("%q: got %v, want %s", text, list, code)
		}
	}
}

// name is a reference put together by hand.
func name(text string) syntax.Expr { return &syntax.Ref{Name: syntax.Name{Text: text}} }

func TestStringAddsBrackets(t *testing.T) {
	a, b, c := name("a"), name("b"), name("c")
	binary := func(op syntax.Op, x, y syntax.Expr) syntax.Expr { return &syntax.Binary{Op: op, X: x, Y: y} }
	metre := &syntax.UnitRef{Text: "m"}
	cases := map[string]syntax.Expr{
		"(a + b) * c":              binary(syntax.Mul, binary(syntax.Add, a, b), c),
		"a - (b - c)":              binary(syntax.Sub, a, binary(syntax.Sub, b, c)),
		"a / (b * c)":              binary(syntax.Div, a, binary(syntax.Mul, b, c)),
		"(a^b)^c":                  binary(syntax.Pow, binary(syntax.Pow, a, b), c),
		"(-a)^b":                   binary(syntax.Pow, &syntax.Unary{Op: syntax.Neg, X: a}, b),
		"(-5)^b":                   binary(syntax.Pow, &syntax.Number{Value: -5}, b),
		"-(5 m)":                   &syntax.Unary{Op: syntax.Neg, X: &syntax.Number{Value: 5, Unit: metre}},
		"5 m ^ b":                  binary(syntax.Pow, &syntax.Number{Value: 5, Unit: metre}, b),
		"(a or b) and c":           binary(syntax.And, binary(syntax.Or, a, b), c),
		"not (a and b)":            &syntax.Unary{Op: syntax.Not, X: binary(syntax.And, a, b)},
		"(a < b) = c":              &syntax.Chain{Ops: []syntax.Op{syntax.Equal}, Operands: []syntax.Expr{&syntax.Chain{Ops: []syntax.Op{syntax.Less}, Operands: []syntax.Expr{a, b}}, c}},
		"(if a then b else c) + a": binary(syntax.Add, &syntax.If{Cond: a, Then: b, Else: c}, a),
		"if a then (if b then c else a) else b": &syntax.If{
			Cond: a, Then: &syntax.If{Cond: b, Then: c, Else: a}, Else: b,
		},
		"1e-07 + 1e+15": binary(syntax.Add, &syntax.Number{Value: 1e-7}, &syntax.Number{Value: 1e15}),
		"0.001":         &syntax.Number{Value: 1e-3},
		"yes":           &syntax.Truth{Value: true},
		`"warm-up"`:     &syntax.Text{Value: "warm-up", Bare: true},
	}
	for want, e := range cases {
		if got := syntax.String(e); got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}

func TestParseQuantity(t *testing.T) {
	for text, want := range map[string]string{
		"42":             "42",
		"17 teeth":       "17_teeth",
		"-5 degC":        "-5_degC",
		"+3 deg":         "3_deg",
		" 29.92inHg ":    "29.92_inHg",
		"60 lb/(hp.h)":   "60_lb/(hp.h)",
		`"with ""bar"""`: `"with \"bar\""`,
		"methanol":       `"methanol"`,
		"warm-up lap":    `"warm-up lap"`,
		"Methanol M1":    `"Methanol M1"`,
		"yes":            "YES",
		"no":             "NO",
		"nothing":        `"nothing"`,
	} {
		e, list := syntax.ParseQuantity(text)
		if len(list) > 0 {
			t.Errorf("%q: %s", text, list[0].Message)
		} else if got := shape(e); got != want {
			t.Errorf("%q: got %s, want %s", text, got, want)
		}
	}
}

func TestParseQuantityErrors(t *testing.T) {
	for text, code := range map[string]diag.Code{
		"":          diag.ValueMissing,
		"5 * 3":     diag.StatementExtra,
		"2,5":       diag.NumberComma,
		"1,250":     diag.NumberThousands,
		"5 m^2":     diag.UnitCaret,
		"17  teeth": diag.UnitApart,
		"1, 2":      diag.StatementExtra,
		`"open`:     diag.QuoteOpen,
		"(5)":       diag.GivenFormula,
		"18 °C":     diag.UnitSign,
	} {
		_, list := syntax.ParseQuantity(text)
		if len(list) != 1 || list[0].Code != code {
			t.Errorf("%q: got %v, want %s", text, list, code)
		}
	}
}

func TestWalk(t *testing.T) {
	e, list := syntax.ParseExpr(`if a < 1 then f(-b, t.c[d + 2]) else (e) and "x" = g`)
	if len(list) > 0 {
		t.Fatal(list)
	}
	var names []string
	syntax.Walk(e, func(e syntax.Expr) bool {
		switch e := e.(type) {
		case *syntax.Ref:
			names = append(names, e.Name.Text)
		case *syntax.Column:
			names = append(names, e.Table.Text+"."+e.Name.Text)
		case *syntax.Call:
			names = append(names, e.Name.Text+"()")
		}
		return true
	})
	if got, want := strings.Join(names, " "), "a f() b t.c d e g"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	visited := 0
	syntax.Walk(e, func(syntax.Expr) bool { visited++; return false })
	if visited != 1 {
		t.Errorf("visited %d expressions, although the first was refused", visited)
	}
	syntax.Walk(nil, func(syntax.Expr) bool { t.Error("visited nil"); return true })
}
