package syntax

import (
	"math"
	"strconv"
	"strings"
)

// String returns e on one line, formatted. Brackets that are missing in a tree
// made by hand are added.
func String(e Expr) string { return string(writer{}.expr(nil, e, 0)) }

// The precedences of operators, lowest first.
const (
	bindIf = iota
	bindOr
	bindAnd
	bindNot
	bindCompare
	bindSum
	bindProduct
	bindSign
	bindPower
	bindWhole
)

// writer writes expressions. With a source text, numbers and quoted texts are
// written as in the source (2.50 stays 2.50), and no brackets are added.
type writer struct{ source string }

// expr appends e to b, in brackets if it binds weaker than least and there is
// no source text.
func (w writer) expr(b []byte, e Expr, least int) []byte {
	if w.source == "" && strength(e) < least {
		b = append(b, '(')
		return append(w.expr(b, e, 0), ')')
	}
	switch e := e.(type) {
	case *Number:
		return w.number(b, e)
	case *Text:
		return w.text(b, e)
	case *Truth:
		return append(b, truthText(e.Value)...)
	case *Ref:
		return append(b, e.Name.Text...)
	case *Column:
		return column(b, e)
	case *Index:
		b = append(column(b, e.Column), '[')
		return append(w.expr(b, e.Row, 0), ']')
	case *Call:
		b = append(append(b, e.Name.Text...), '(')
		return append(w.list(b, e.Args), ')')
	case *Paren:
		return append(w.expr(append(b, '('), e.X, 0), ')')
	case *BadExpr:
		return append(b, w.slice(e)...)
	}
	return w.operation(b, e)
}

// operation appends an expression that has operators.
func (w writer) operation(b []byte, e Expr) []byte {
	switch e := e.(type) {
	case *Unary:
		if e.Op == Not {
			return w.expr(append(b, "not "...), e.X, bindNot)
		}
		if n, ok := e.X.(*Number); ok && n.Unit != nil && w.source == "" {
			return append(w.expr(append(b, "-("...), e.X, 0), ')') // otherwise the minus would be its sign
		}
		return w.expr(append(b, '-'), e.X, bindSign)
	case *Binary:
		return w.binary(b, e)
	case *Chain:
		for i, x := range e.Operands {
			if i > 0 {
				b = append(append(append(b, ' '), e.Ops[i-1].String()...), ' ')
			}
			b = w.expr(b, x, bindSum)
		}
	case *If:
		b = w.expr(append(b, "if "...), e.Cond, bindOr)
		b = w.expr(append(b, " then "...), e.Then, bindOr)
		b = w.expr(append(b, " else "...), e.Else, bindIf)
	}
	return b
}

// binary appends e; only a power has no blanks.
func (w writer) binary(b []byte, e *Binary) []byte {
	own := strength(e)
	if e.Op == Pow {
		return w.power(b, e)
	}
	b = w.expr(b, e.X, own)
	b = append(append(append(b, ' '), e.Op.String()...), ' ')
	return w.expr(b, e.Y, own+1)
}

// power appends `x^y`. After a unit there are blanks around the sign, because
// `m^2` would be read as part of the unit.
func (w writer) power(b []byte, e *Binary) []byte {
	b = w.expr(b, e.X, bindWhole)
	sign := "^"
	if n, ok := e.X.(*Number); ok && n.Unit != nil {
		sign = " ^ "
	}
	return w.expr(append(b, sign...), e.Y, bindSign)
}

// list appends items with commas between.
func (w writer) list(b []byte, items []Expr) []byte {
	for i, e := range items {
		if i > 0 {
			b = append(b, ", "...)
		}
		b = w.expr(b, e, 0)
	}
	return b
}

func column(b []byte, e *Column) []byte {
	b = append(append(b, e.Table.Text...), '.')
	return append(b, e.Name.Text...)
}

// number appends a number with its unit, one blank between.
func (w writer) number(b []byte, n *Number) []byte {
	if w.source == "" {
		b = strconv.AppendFloat(b, n.Value, numberFormat(n.Value), -1, 64)
	} else {
		end := n.Span.End
		if n.Unit != nil {
			end = n.Unit.Span.Start
		}
		for _, c := range []byte(w.source[n.Span.Start:end]) {
			if c != ' ' && c != '\t' {
				b = append(b, c)
			}
		}
	}
	if n.Unit != nil {
		b = append(append(b, ' '), n.Unit.Text...)
	}
	return b
}

// numberFormat avoids exponents for numbers of ordinary size.
func numberFormat(v float64) byte {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return 'e'
	}
	return 'f'
}

// text appends a text, in quotes if the source has them.
func (w writer) text(b []byte, t *Text) []byte {
	if w.source != "" {
		return append(b, w.slice(t)...)
	}
	return append(b, Quote(t.Value)...)
}

func (w writer) slice(e Expr) string {
	if w.source == "" {
		return ""
	}
	return w.source[e.Pos().Start:e.Pos().End]
}

// Quote returns text as written in a worksheet: in double quotes, a
// quote inside doubled.
func Quote(text string) string {
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

func truthText(v bool) string {
	if v {
		return "yes"
	}
	return "no"
}

// strength returns how strongly the outermost operator of e binds.
func strength(e Expr) int {
	switch e := e.(type) {
	case *If:
		return bindIf
	case *Chain:
		return bindCompare
	case *Binary:
		return binaryStrength(e.Op)
	case *Unary:
		if e.Op == Not {
			return bindNot
		}
		return bindSign
	case *Number:
		if e.Value < 0 {
			return bindSign
		}
	}
	return bindWhole
}

func binaryStrength(op Op) int {
	switch op {
	case Or:
		return bindOr
	case And:
		return bindAnd
	case Add, Sub:
		return bindSum
	case Pow:
		return bindPower
	}
	return bindProduct
}
