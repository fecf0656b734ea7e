package sheet

import (
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// LimitNumbers returns the condition of l with numbers, "173.2 mph <= 160 mph";
// for a limit on columns those of row. A broken equation would read as one that
// holds, if a call is in it: "gcd(42 teeth, 104 links) is not 1".
func (r *Result) LimitNumbers(l *check.Limit, row int) string {
	decl := l.Decl()
	if decl == nil {
		return ""
	}
	s := &scope{r: r, row: row, limit: true, rows: l.Table}
	cond := s.put(decl.Cond)
	state, _ := r.Limit(l)
	if a, b, ok := equation(cond); ok && (state == Broken || state == Advised) {
		return syntax.String(a) + isNot + syntax.String(b)
	}
	return syntax.String(cond)
}

// isNot is between the sides of a broken equation.
const isNot = " is not "

// equation returns the sides of a condition that is a = b.
func equation(cond syntax.Expr) (a, b syntax.Expr, ok bool) {
	c, ok := cond.(*syntax.Chain)
	if !ok || len(c.Ops) != 1 || c.Ops[0] != syntax.Equal {
		return nil, nil, false
	}
	return c.Operands[0], c.Operands[1], true
}

// The rows of the places in LimitParts that are not known before computing.
const (
	LimitRow  = -1 // the row that the limit is about
	FirstRow  = -2 // the first row with a value
	LastRow   = -3 // the last one
	MaxRow    = -4 // the one with the greatest value
	MinRow    = -5 // the one with the smallest
	SumRows   = -6 // no row: the sum of all values
	MeanRows  = -7 // their mean
	CountRows = -8 // how many there are
)

// LimitPart is a piece of a limit's condition: a text, or the place whose value
// is there.
type LimitPart struct {
	Text   string
	Broken string // instead of Text if the limit is broken; empty for the same
	Place  Place  // not set for a text
	Full   bool   // of Place: shown without regard to its step
	// RowOf is the cell whose value is the row of Place, from 1; nil if Place
	// has the row.
	RowOf *check.Cell
}

// LimitSide is a number that a limit compares: the value at a place, or a
// literal.
type LimitSide struct {
	Part   int // of the limit's parts, -1 for a literal
	Number float64
	Unit   unit.Unit
}

// LimitParts returns the condition of l in pieces: with the values of the
// places inserted, they make up LimitNumbers. The pairs are the numbers that
// are compared with each other; if two numbers differ, so must their texts.
func (r *Result) LimitParts(l *check.Limit) (parts []LimitPart, pairs [][2]LimitSide) {
	decl := l.Decl()
	if decl == nil {
		return nil, nil
	}
	m := &marker{scope: &scope{r: r, row: LimitRow, limit: true, rows: l.Table}, at: map[syntax.Expr]int{}}
	m.mark = func(p Place) syntax.Expr { return m.put(LimitPart{Place: p, Full: m.within}) }
	m.rowOf = func(c *check.Column, row *check.Cell) syntax.Expr {
		return m.put(LimitPart{Place: Place{Column: c}, Full: m.within, RowOf: row})
	}
	cond := m.scope.put(decl.Cond)
	text := syntax.String(cond)
	if a, b, ok := equation(cond); ok {
		text = syntax.String(a) + bound + equals + bound + syntax.String(b)
	}
	parts = m.parts(text)
	for _, operands := range m.compared {
		for i := range len(operands) - 1 {
			a, okA := m.side(operands[i])
			b, okB := m.side(operands[i+1])
			if okA && okB {
				pairs = append(pairs, [2]LimitSide{a, b})
			}
		}
	}
	return parts, pairs
}

// marker cuts a condition into parts at the places of its values.
type marker struct {
	*scope
	places []LimitPart         // in the order in which they are met
	at     map[syntax.Expr]int // their places in places
	order  []int               // the part of each
}

// bound delimits the number of a place; no worksheet contains it.
const bound = "\x00"

// equals is the placeholder between the sides of an equation.
const equals = "="

// put returns a placeholder for a place.
func (m *marker) put(p LimitPart) syntax.Expr {
	w := word(bound + strconv.Itoa(len(m.places)) + bound)
	m.at[w] = len(m.places)
	m.places = append(m.places, p)
	return w
}

// parts splits a condition at the placeholders.
func (m *marker) parts(text string) []LimitPart {
	var out []LimitPart
	m.order = make([]int, len(m.places))
	for i, piece := range strings.Split(text, bound) {
		if at, err := strconv.Atoi(piece); err == nil && i%2 == 1 {
			m.order[at] = len(out)
			out = append(out, m.places[at])
		} else if piece == equals && i%2 == 1 {
			out = append(out, LimitPart{Text: " = ", Broken: isNot})
		} else if piece != "" {
			out = append(out, LimitPart{Text: piece})
		}
	}
	return out
}

// side returns the number of an operand, if the operand is a single number.
func (m *marker) side(e syntax.Expr) (LimitSide, bool) {
	if n, ok := e.(*syntax.Number); ok {
		u, known := m.unitOf(n)
		return LimitSide{Part: -1, Number: n.Value, Unit: u}, known
	}
	at, ok := m.at[e]
	if !ok || m.places[at].Place.Row == CountRows || m.places[at].Place.Quantity().Type.Form != check.Number {
		return LimitSide{}, false
	}
	return LimitSide{Part: m.order[at]}, true
}
