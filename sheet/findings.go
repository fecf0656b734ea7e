package sheet

import (
	"fmt"
	"strings"

	"gearleaf/sheet/check"
)

// Failure is the origin of a fault, and the values that depend on it.
type Failure struct {
	Origin string // "front_ratio", "gears.speed[3]"
	Cause  string
	// Waiting names the other cells and columns at fault because of it, in
	// reading order.
	Waiting []string
}

// Failures returns the origins of all faults, in reading order of the first
// value that shows each. In a column only the first row at fault is traced.
func (r *Result) Failures() []Failure {
	var out []Failure
	index := map[string]int{}
	for _, p := range r.faulty() {
		f := r.At(p).Fault()
		origin := OriginOf(f)
		at, known := index[origin]
		if !known {
			at = len(out)
			index[origin] = at
			out = append(out, Failure{Origin: origin, Cause: f.Cause})
		}
		if name := quantityName(p); f.WaitsOn != "" {
			out[at].Waiting = append(out[at].Waiting, name)
		}
	}
	return append(out, r.unreadTables(out)...)
}

// unreadTables returns the failures of tables whose file could not be read,
// unless a failure in reported reads one of their columns.
func (r *Result) unreadTables(reported []Failure) []Failure {
	var out []Failure
	for _, t := range r.Sheet.Model.Tables {
		known := t.Library || t.Fault == ""
		for _, f := range reported {
			known = known || f.Cause == t.Fault
		}
		if !known {
			out = append(out, Failure{Origin: t.Name, Cause: t.Fault})
		}
	}
	return out
}

// Verdict gives the numbers of limits that are broken or not known, and of
// faults; it is empty without limits and faults. Trouble reports whether a
// limit is not kept or a fault exists.
func (r *Result) Verdict() (text string, trouble bool) {
	all, broken, waiting := 0, 0, 0
	for _, l := range r.Sheet.Model.Limits {
		if l.Advise {
			continue
		}
		all++
		switch state, _ := r.Limit(l); state {
		case Broken:
			broken++
		case Waiting:
			waiting++
		}
	}
	var parts []string
	switch {
	case all == 0:
	case broken+waiting == 0 && all == 1:
		parts = append(parts, "the limit is kept")
	case broken+waiting == 0:
		parts = append(parts, fmt.Sprintf("all %d limits are kept", all))
	case all == 1 && broken == 1:
		parts = append(parts, "the limit is broken")
	case all == 1:
		parts = append(parts, "the limit is not known")
	default:
		text := fmt.Sprintf("%d of %d limits broken", broken, all)
		if waiting > 0 {
			text += fmt.Sprintf(", %d not known", waiting)
		}
		parts = append(parts, text)
	}
	switch n := len(r.Failures()); n {
	case 0:
	case 1:
		parts, trouble = append(parts, "1 fault"), true
	default:
		parts, trouble = append(parts, fmt.Sprintf("%d faults", n)), true
	}
	return strings.Join(parts, "; "), trouble || broken+waiting > 0
}

// OriginOf names the origin of f, "gears.speed[3]" with its row.
func OriginOf(f *Fault) string {
	if f.Row < 0 {
		return f.Origin
	}
	return fmt.Sprintf("%s[%d]", f.Origin, f.Row+1)
}

// faulty returns the first place at fault of every cell and column.
func (r *Result) faulty() []Place {
	var out []Place
	for _, p := range r.Sheet.Names() {
		if p.Cell != nil {
			if r.Cell(p.Cell).IsFault() {
				out = append(out, p)
			}
			continue
		}
		if row := r.firstFault(p.Column); row >= 0 {
			out = append(out, Place{Column: p.Column, Row: row})
		}
	}
	return out
}

func (r *Result) firstFault(c *check.Column) int {
	rows, _ := r.Live(c.Table)
	for row := range rows {
		if r.Entry(c, row).IsFault() {
			return row
		}
	}
	return -1
}

// quantityName is the name of p without its row.
func quantityName(p Place) string {
	if p.Column != nil {
		p.Row = Whole
	}
	return p.Name()
}
