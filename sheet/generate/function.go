package generate

import (
	"fmt"
	"strings"
)

// function is a function of the sheet's own that formulas may call.
type function struct {
	name   string
	params []quantity
	result quantity
	// generic says that the function takes two values of any measure and a
	// number, and returns that measure.
	generic bool
}

// function writes one function and adds it to those that formulas may call.
func (w *writer) function() {
	if w.chance(4) {
		w.anyMeasure()
		return
	}
	f := &function{name: w.name("by"), result: quantity(w.rnd.IntN(int(quantities)))}
	outside, tables := w.scope, w.tables
	w.scope, w.tables = &scope{}, nil
	heads := make([]string, 1+w.rnd.IntN(3))
	for i := range heads {
		heads[i] = w.parameter(f)
	}
	body := w.body(f)
	w.scope, w.tables = outside, tables
	w.write("function %s(%s)\n  \"An invented function.\"\n%s", f.name, strings.Join(heads, ", "), body)
	w.functions = append(w.functions, f)
}

// parameter adds one parameter to f and returns how it is declared.
func (w *writer) parameter(f *function) string {
	q := quantity(w.rnd.IntN(int(quantities)))
	name := w.name("x")
	f.params = append(f.params, q)
	w.scope.add(q, name)
	unit := q.facts().units[0]
	if unit == "" {
		unit = "1"
	}
	return name + ": " + unit
}

// body returns validity, steps and the last line of f.
func (w *writer) body(f *function) string {
	text := ""
	if w.chance(2) {
		text += fmt.Sprintf("  valid %s \"Outside its range\"\n", w.condition(1).text)
	}
	for range w.rnd.IntN(3) {
		q, name := quantity(w.rnd.IntN(int(quantities))), w.name("step")
		text += fmt.Sprintf("  %s = %s\n", name, w.formula(q, 2).text)
		w.scope.add(q, name)
	}
	return text + fmt.Sprintf("  = %s\n", w.formula(f.result, 3).text)
}

// anyMeasure writes a function whose parameters take any measure.
func (w *writer) anyMeasure() {
	f := &function{name: w.name("between"), generic: true}
	w.write("function %s(a, b: a, part: 1)\n  \"The larger or the smaller, an invented function.\"\n"+
		"  low = min(a, b)\n  = if part > %s then max(a, b) else low\n", f.name, w.literal(ratio).at(product))
	w.functions = append(w.functions, f)
}

// called returns a call whose result is of q, or a leaf if no function suits.
func (w *writer) called(q quantity, depth int) formula {
	var suits []*function
	for _, f := range w.functions {
		if f.generic || f.result == q {
			suits = append(suits, f)
		}
	}
	if len(suits) == 0 {
		return w.leaf(q)
	}
	f := choose(w, suits)
	if f.generic {
		return call(f.name, w.formula(q, depth-1), w.leaf(q), w.formula(ratio, depth-1))
	}
	args := make([]formula, len(f.params))
	for i, p := range f.params {
		args[i] = w.formula(p, min(depth-1, 1))
	}
	return call(f.name, args...)
}
