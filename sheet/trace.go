package sheet

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// MaxWorking limits the values of one working; deeper ones are left out and
// marked as such.
const MaxWorking = 2000

// Working shows how one value was computed: its formula, the formula with
// numbers, and the workings of the values in it.
type Working struct {
	Place
	Value   Value
	Formula string // as written; empty for a given
	Numbers string // the formula with values instead of names
	// From is the worksheet with the formula, if it is not the sheet itself.
	From  string
	Needs []*Working
	// Calls are the functions in the formula that are written in the worksheet
	// language, in order of mention.
	Calls []Function
	// Above says that this value's working is already shown above, and Deeper
	// that values below it were left out.
	Above, Deeper bool
}

// Functions returns the functions that w and the workings below it call, each
// once, in order of mention.
func (w *Working) Functions() []Function { return w.functions(map[string]bool{}) }

func (w *Working) functions(seen map[string]bool) []Function {
	var out []Function
	for _, f := range w.Calls {
		if !seen[f.Name] {
			seen[f.Name] = true
			out = append(out, f)
		}
	}
	for _, need := range w.Needs {
		out = append(out, need.functions(seen)...)
	}
	return out
}

// Work returns the working of the value at p, which is not a whole column,
// down to depth levels below it.
func (r *Result) Work(p Place, depth int) *Working {
	w := &worker{r: r, seen: map[Place]bool{}}
	return w.work(p, depth)
}

type worker struct {
	r    *Result
	seen map[Place]bool
}

func (w *worker) work(p Place, depth int) *Working {
	q := p.Quantity()
	out := &Working{Place: p}
	if p.Row != Whole {
		out.Value = w.r.At(p)
	}
	if q.Origin.File > 0 && q.Origin.File < len(w.r.Sheet.Model.Files) {
		out.From = w.r.Sheet.Model.Files[q.Origin.File].File.Name
	}
	formula := w.formula(p)
	if p.Row == Whole && !q.Given {
		if decl := q.Decl(); decl != nil && decl.Formula != nil {
			out.Formula = syntax.String(decl.Formula)
			out.Numbers = out.Formula
		}
	}
	if formula == nil {
		return out
	}
	table := (*check.Table)(nil)
	if p.Column != nil {
		table = p.Column.Table
	}
	s := &scope{r: w.r, table: table, row: p.Row}
	out.Formula = syntax.String(formula)
	out.Numbers = syntax.String(s.put(formula))
	out.Calls = w.r.Sheet.functions(s.calls)
	switch {
	case w.seen[p]:
		out.Above = len(s.places) > 0
	case depth <= 0 || len(w.seen) >= MaxWorking:
		out.Deeper = len(s.places) > 0
	default:
		w.seen[p] = true
		for _, need := range s.places {
			out.Needs = append(out.Needs, w.work(need, depth-1))
		}
	}
	return out
}

// formula returns the expression that gives the value at p; nil for a given
// and for a whole column.
func (w *worker) formula(p Place) syntax.Expr {
	q := p.Quantity()
	if p.Row == Whole || q.Given {
		return nil
	}
	decl := q.Decl()
	if decl == nil {
		return nil
	}
	if p.Column != nil && p.Row == 0 && decl.Start != nil {
		return decl.Start
	}
	return decl.Formula
}
