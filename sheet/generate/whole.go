package generate

import (
	"fmt"
	"strconv"
)

// place is a column with its table.
type place struct {
	*table
	column
}

func (p place) formula() formula { return formula{p.table.name + "." + p.column.name, primary} }

// places returns the columns of q.
func (w *writer) places(fits func(place) bool) []place {
	var found []place
	for _, t := range w.tables {
		for _, c := range t.columns {
			if p := (place{t, c}); fits(p) {
				found = append(found, p)
			}
		}
	}
	return found
}

// ofTable returns a formula of q that reads a whole column, or a leaf if there
// is none.
func (w *writer) ofTable(q quantity, depth int) formula {
	found := w.places(func(p place) bool { return p.quantity == q })
	if q == ratio && len(w.tables) > 0 && w.chance(4) {
		found = w.places(func(place) bool { return true })
		return call("count", choose(w, found).formula())
	}
	if len(found) == 0 {
		return w.leaf(q)
	}
	p := choose(w, found)
	switch w.rnd.IntN(4) {
	case 0:
		return w.index(p, depth)
	case 1, 2:
		return w.lookup(p, depth)
	}
	return w.aggregate(p)
}

// aggregate returns an aggregate that suits the kind of p. All of a column
// that may have blanks can be blank.
func (w *writer) aggregate(p place) formula {
	if p.blanks && !p.given && !w.Faults {
		return w.leaf(p.quantity)
	}
	names := []string{"mean", "min", "max", "first", "last", "sum"}
	if p.quantity.facts().point {
		names = names[:5]
	}
	return call(choose(w, names), p.formula())
}

// index returns one row of p; a blank there is a fault.
func (w *writer) index(p place, depth int) formula {
	if !w.Faults && (p.blanks || !p.given) {
		return w.aggregate(p)
	}
	row := strconv.Itoa(1 + w.rnd.IntN(p.rows))
	if w.chance(2) {
		row = fmt.Sprintf("min(max(round(%s), 1), %d)", w.formula(ratio, min(depth-1, 1)).text, p.rows)
	}
	return formula{fmt.Sprintf("%s[%s]", p.formula().text, row), primary}
}

// lookup returns p read along another column of its table.
func (w *writer) lookup(p place, depth int) formula {
	if !w.Faults && (p.blanks || !p.given) {
		return w.aggregate(p)
	}
	along := w.places(func(a place) bool { return a.table == p.table && a.rising })
	keys := w.places(func(a place) bool { return a.table == p.table && a.keys })
	switch {
	case len(keys) > 0 && w.chance(3):
		return w.pick(choose(w, keys), p)
	case len(along) == 0 || w.chance(4):
		return w.firstAt(p)
	}
	a := choose(w, along)
	x := w.formula(a.quantity, min(depth-1, 2))
	if w.chance(3) {
		return call("lookup_clamped", x, a.formula(), p.formula())
	}
	name := choose(w, []string{"lookup", "lookup_monotone"})
	if w.Faults && w.chance(4) {
		return call(name, x, a.formula(), p.formula())
	}
	inside := call("min", call("max", x, call("first", a.formula())), call("last", a.formula()))
	return call(name, inside, a.formula(), p.formula())
}

// pick reads p at one of the keys or, for a fault, at none of them.
func (w *writer) pick(keys, p place) formula {
	unit := unitOf(keys.quantity)
	key := choose(w, keys.values)
	if w.Faults && w.chance(4) {
		key = map[bool]string{true: `"nobody"`, false: "12345"}[keys.quantity == words]
	}
	if unit != "" {
		key += " " + unit
	}
	return call("pick", formula{key, primary}, keys.formula(), p.formula())
}

// firstAt reads p at the first place where another column crosses a value
// between its first and its last.
func (w *writer) firstAt(p place) formula {
	crossed := w.places(func(a place) bool {
		return a.table == p.table && a.quantity < quantities && (w.Faults || a.given && !a.blanks)
	})
	if len(crossed) == 0 {
		return w.aggregate(p)
	}
	a := choose(w, crossed).formula()
	x := fmt.Sprintf("first(%s) + (last(%s) - first(%s)) * 0.375", a.text, a.text, a.text)
	return call("first_at", formula{x, addition}, a, p.formula())
}

// limit writes a limit or an advise line, of scalars or of a whole column.
func (w *writer) limit() {
	word := choose(w, []string{"limit", "advise"})
	columns := w.places(func(p place) bool { return p.quantity < quantities })
	if len(columns) > 0 && w.chance(2) {
		p := choose(w, columns)
		w.write("%s %s %s %s \"An invented limit\"\n", word, p.formula().text, choose(w, []string{"<=", ">", "<"}), w.leaf(p.quantity).at(addition))
		return
	}
	w.write("%s %s \"An invented limit\"\n", word, w.condition(2).text)
}

// aside writes a statement without computation: a section, a note, a chart.
func (w *writer) aside() {
	switch numbers := w.places(func(p place) bool { return p.quantity < quantities }); {
	case len(numbers) > 0 && w.chance(2):
		x := choose(w, numbers)
		same := w.places(func(p place) bool { return p.table == x.table && p.quantity < quantities })
		w.write("chart \"Invented chart\" x %s y %s, %s\n", x.formula().text, choose(w, same).formula().text, choose(w, same).formula().text)
	case w.chance(2):
		w.write("\nsection \"Part %d\"\n\n", w.rnd.IntN(100))
	default:
		w.write("note \"Line %d, with \"\"quotes\"\" in it.\"\n", w.rnd.IntN(100))
	}
}
