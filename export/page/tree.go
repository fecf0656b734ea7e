package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/program/wasm"
)

// The script needs the formulas only to explain faults, and reads one on
// request. A formula is a text: its operations in postfix order, blanks between
// them.

// signs are the operations that are written unchanged.
var signs = map[check.Op]string{
	check.Add: "+", check.Sub: "-", check.Mul: "*", check.Div: "/", check.Pow: "^", check.Neg: "~",
	check.Less: "<", check.LessEqual: "<=", check.Greater: ">", check.GreaterEqual: ">=",
	check.Equal: "=", check.NotEqual: "<>", check.SameText: "==", check.NotSameText: "!=",
	check.If: "?", check.And: "&", check.Or: "|", check.Not: "!",
}

// references are the operations that name something by its number.
var references = map[check.Op]string{
	check.CellRef: "c", check.ColumnRef: "h", check.PrevRef: "p", check.NextRef: "n", check.ParamRef: "a", check.StepRef: "s",
}

// formula returns the text of the tree at id, nothing for none.
func (d *maker) formula(id check.NodeID) string {
	if id == 0 {
		return ""
	}
	return strings.Join(d.appendFormula(nil, id), " ")
}

func (d *maker) appendFormula(out []string, id check.NodeID) []string {
	n := d.m.Node(id)
	if n.Op == check.Intrinsic && len(d.m.ArgsOf(n)) == 0 {
		return append(out, number(d.m.IntrinsicOf(n).Apply()))
	}
	operands := d.m.AppendOperands(nil, n)
	for _, o := range operands {
		out = d.appendFormula(out, o)
	}
	if n.Op == check.Intrinsic && len(operands) == 1 && d.m.IntrinsicOf(n).F1 == nil {
		return out // plain, which returns its argument
	}
	return append(out, d.operation(n))
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// operation returns the word of a node whose operands precede it.
func (d *maker) operation(n *check.Node) string {
	if sign, ok := signs[n.Op]; ok {
		if n.Op == check.Pow {
			d.asks("Pow")
		}
		return sign
	}
	if letter, ok := references[n.Op]; ok {
		return fmt.Sprint(letter, n.Ref())
	}
	switch n.Op {
	case check.Const:
		return number(n.Num())
	case check.RowRef:
		return "r"
	case check.Call:
		return fmt.Sprint("f", d.m.InstanceOf(n))
	case check.Intrinsic:
		return fmt.Sprint("i", d.intrinsic(n), ".", len(d.m.ArgsOf(n)))
	case check.Aggregate:
		d.asks("Reduce")
		return fmt.Sprint("g", n.Ref(), ".", int(n.A))
	case check.IndexAt:
		d.asks("Index")
		return fmt.Sprint("x", n.Ref())
	case check.Lookup:
		d.asks("Curve.At")
		return fmt.Sprint("l", d.curve(n))
	}
	panic("page: an operation without a word")
}

// asks makes the module export a function of the kernel.
func (d *maker) asks(name string) {
	if !slices.Contains(d.exports, name) {
		d.exports = append(d.exports, name)
	}
}

// intrinsic returns the number that the page has for the function of a node.
func (d *maker) intrinsic(n *check.Node) int {
	in := d.m.IntrinsicOf(n)
	at := slices.IndexFunc(d.out.Intrinsics, func(row intrinsic) bool { return row.Name == in.Name })
	if at < 0 {
		at = len(d.out.Intrinsics)
		d.out.Intrinsics = append(d.out.Intrinsics, intrinsic{Name: in.Name, Domain: in.Domain})
	}
	row, one := &d.out.Intrinsics[at], len(d.m.ArgsOf(n)) == 1
	if one {
		row.One = wasm.KernelName(in.F1)
		d.asks(row.One)
	} else {
		row.Two = wasm.KernelName(in.F2)
		d.asks(row.Two)
	}
	return at
}

// curve returns the number that the page has for the columns of a look-up.
func (d *maker) curve(n *check.Node) int {
	xs, ys, form := d.m.LookupOf(n)
	row := curveData{X: int(xs), Y: int(ys), Form: form}
	at := slices.Index(d.out.Curves, row)
	if at < 0 {
		at = len(d.out.Curves)
		d.out.Curves = append(d.out.Curves, row)
	}
	return at
}

// functions adds the bodies of the functions that the sheet calls.
func (d *maker) functions() {
	for _, in := range d.m.Instances {
		row := functionData{Name: in.Name, Params: len(in.Params), Result: d.formula(in.Result)}
		for _, s := range in.Steps {
			row.Steps = append(row.Steps, d.formula(s))
		}
		d.out.Functions = append(d.out.Functions, row)
	}
}
