package referee

import (
	"fmt"

	"github.com/Knetic/govaluate"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// single and pair are the arguments that govaluate passes to a function.
func single(args []any) (float64, error) {
	if len(args) == 1 {
		if v, ok := args[0].(float64); ok {
			return v, nil
		}
	}
	return 0, fmt.Errorf("referee: one number expected, not %v", args)
}

func pair(args []any) (a, b float64, err error) {
	if len(args) == 2 {
		a, okA := args[0].(float64)
		b, okB := args[1].(float64)
		if okA && okB {
			return a, b, nil
		}
	}
	return 0, 0, fmt.Errorf("referee: two numbers expected, not %v", args)
}

// none, one and two make kernels functions of govaluate.
func (p *planner) none(truth bool, f func() float64) govaluate.ExpressionFunction {
	gently := p.gently
	return func(...any) (any, error) { return let(f(), truth, gently) }
}

func (p *planner) one(truth bool, f func(float64) float64) govaluate.ExpressionFunction {
	gently := p.gently
	return func(args ...any) (any, error) {
		a, err := single(args)
		if err != nil {
			return nil, err
		}
		return let(f(a), truth, gently)
	}
}

func (p *planner) two(f func(a, b float64) float64) govaluate.ExpressionFunction {
	gently := p.gently
	return func(args ...any) (any, error) {
		a, b, err := pair(args)
		if err != nil {
			return nil, err
		}
		return let(f(a, b), false, gently)
	}
}

// many returns a function that folds an intrinsic over its arguments.
func (p *planner) many(in *kernel.Intrinsic, args []check.NodeID) govaluate.ExpressionFunction {
	parts, gently := p.parts(args), p.gently
	return func(...any) (any, error) {
		values, err := valuesOf(parts)
		if err != nil {
			return nil, err
		}
		return let(in.Apply(values...), false, gently)
	}
}

// parts returns the parts of the tree that begin at nodes.
func (p *planner) parts(nodes []check.NodeID) []*part {
	parts := make([]*part, len(nodes))
	for i, n := range nodes {
		parts[i] = p.t.part(n)
	}
	return parts
}

func valuesOf(parts []*part) ([]float64, error) {
	values := make([]float64, len(parts))
	for i, part := range parts {
		v, err := part.get()
		if err != nil {
			return nil, err
		}
		values[i] = v
	}
	return values, nil
}

// call returns a function that calls an instance, or one of its conditions. An
// argument that is a fault is passed on: it has an effect only if the function
// reads it.
func (p *planner) call(n *check.Node) govaluate.ExpressionFunction {
	r, gently := p.t.r, p.gently
	instance, result := r.m.ResultOf(n)
	truth := r.isTruth(result)
	parts := p.parts(r.m.ArgsOf(n))
	return func(...any) (any, error) {
		args, err := valuesOf(parts)
		if err != nil {
			return nil, err
		}
		v, err := r.apply(instance, result, args)
		if err != nil {
			return nil, named(err, instance.Name)
		}
		return let(v, truth, gently)
	}
}

// apply evaluates the steps of a function in order, and then result.
func (r *Referee) apply(instance *check.Instance, result check.NodeID, args []float64) (float64, error) {
	s := &scope{row: outside, args: args, steps: make([]float64, 0, len(instance.Steps))}
	for _, step := range instance.Steps {
		v, err := r.tree(step).value(s)
		if err != nil {
			return 0, err
		}
		s.steps = append(s.steps, v)
	}
	return r.tree(result).value(s)
}

// wholes caches results of whole columns: they do not change once computed.
type wholes struct {
	aggregates map[check.NodeID]float64
	curves     map[check.NodeID]*kernel.Curve
}

func (w *wholes) clear() {
	w.aggregates = map[check.NodeID]float64{}
	w.curves = map[check.NodeID]*kernel.Curve{}
}

// aggregate returns the function that gives an aggregate of a column.
func (p *planner) aggregate(id check.NodeID, n *check.Node) govaluate.ExpressionFunction {
	r := p.t.r
	return p.none(r.isTruth(id), func() float64 {
		if v, ok := r.wholes.aggregates[id]; ok {
			return v
		}
		v := kernel.Fault
		if column, ok := r.from.whole(int(n.Ref())); ok {
			v = kernel.Reduce(kernel.Aggregate(n.A), column)
		}
		r.wholes.aggregates[id] = v
		return v
	})
}

// lookup returns the function that reads one column at a place in another.
func (p *planner) lookup(id check.NodeID, n *check.Node) govaluate.ExpressionFunction {
	r := p.t.r
	return p.one(r.isTruth(id), func(x float64) float64 {
		if c, ok := r.wholes.curves[id]; ok {
			return c.At(x)
		}
		from, to, form := r.m.LookupOf(n)
		xs, ended := r.from.whole(int(from))
		ys, other := r.from.whole(int(to))
		if !ended || !other {
			return kernel.Fault
		}
		c := kernel.NewCurve(form, len(xs))
		c.Prepare(xs, ys)
		r.wholes.curves[id] = c
		return c.At(x)
	})
}

// index returns the function that reads one row of a column.
func (p *planner) index(id check.NodeID, n *check.Node) govaluate.ExpressionFunction {
	r := p.t.r
	return p.one(r.isTruth(id), func(row float64) float64 {
		column, ended := r.from.whole(int(n.Ref()))
		if !ended {
			return kernel.Fault
		}
		return kernel.Index(row, column)
	})
}
