package speed

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/Knetic/govaluate"

	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
)

// tokens are the sheet's computed cells as expressions for govaluate, parsed
// once, with the map of values that they read: what somebody writes who
// evaluates a sheet with an expression library.
type tokens struct {
	names  []string
	cells  []*govaluate.EvaluableExpression
	values map[string]any
}

var functions = map[string]govaluate.ExpressionFunction{
	"sqrt": func(a ...any) (any, error) { return math.Sqrt(a[0].(float64)), nil },
	"exp":  func(a ...any) (any, error) { return math.Exp(a[0].(float64)), nil },
	"min":  func(a ...any) (any, error) { return math.Min(a[0].(float64), a[1].(float64)), nil },
}

func newTokens(tb testing.TB, s *loaded) *tokens {
	out := &tokens{values: map[string]any{}}
	for i := range s.graph.Len() {
		task := s.graph.Task(i)
		c := task.Cell
		switch {
		case c == nil:
		case c.Given:
			out.values[c.Name] = c.Value
		default:
			w := &wording{m: s.model}
			e, err := govaluate.NewEvaluableExpressionWithFunctions(w.of(c.Formula), functions)
			if err != nil {
				tb.Fatal(c.Name, err)
			}
			out.names, out.cells = append(out.names, c.Name), append(out.cells, e)
		}
	}
	return out
}

// compute evaluates every cell in order.
func (s *tokens) compute() error {
	for i, e := range s.cells {
		v, err := e.Evaluate(s.values)
		if err != nil {
			return err
		}
		s.values[s.names[i]] = v
	}
	return nil
}

// wording writes a formula for govaluate, calls written out.
type wording struct {
	m    *check.Model
	args []string // of the current function
	inst *check.Instance
}

var operators = map[check.Op]string{
	check.Add: "+", check.Sub: "-", check.Mul: "*", check.Div: "/", check.Pow: "**", check.GreaterEqual: ">=",
}

func (w *wording) of(id check.NodeID) string {
	n := w.m.Node(id)
	if sign := operators[n.Op]; sign != "" {
		return "(" + w.of(n.A) + " " + sign + " " + w.of(n.B) + ")"
	}
	switch n.Op {
	case check.Const:
		return strconv.FormatFloat(n.Num(), 'f', -1, 64)
	case check.CellRef:
		return w.m.Cells[n.Ref()].Name
	case check.ParamRef:
		return w.args[n.Ref()]
	case check.StepRef:
		return w.of(w.inst.Steps[n.Ref()])
	case check.If:
		then, other := w.m.BranchesOf(n)
		return "(" + w.of(n.A) + " ? " + w.of(then) + " : " + w.of(other) + ")"
	}
	return w.called(n)
}

func (w *wording) called(n *check.Node) string {
	var args []string
	for _, a := range w.m.ArgsOf(n) {
		args = append(args, w.of(a))
	}
	switch n.Op {
	case check.Call:
		inner := &wording{m: w.m, args: args, inst: w.m.Instances[n.Ref()]}
		return inner.of(inner.inst.Result)
	case check.Intrinsic:
		if name := w.m.IntrinsicOf(n).Name; name != "plain" {
			return name + "(" + strings.Join(args, ", ") + ")"
		}
		return args[0]
	}
	panic(fmt.Sprint("no wording for operation ", n.Op))
}

func TestGovaluateAgrees(t *testing.T) {
	s := load(t, generate.Gearing150())
	e, mc := newTokens(t, s), s.program.NewMachine()
	mc.Run()
	if err := e.compute(); err != nil {
		t.Fatal(err)
	}
	for i, c := range s.model.Cells {
		if got, want := mc.Cell(i), e.values[c.Name].(float64); !close(got, want) {
			t.Errorf("%s = %v by the program, %v by govaluate", c.Name, got, want)
		}
	}
}
