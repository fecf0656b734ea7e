package code

import (
	"fmt"
	"strings"

	"gearleaf/sheet/kernel"
)

// Listing lists the code of every task in evaluation order. Registers of the
// frame are t0, t1, …; the others are named after their contents.
func (p *Program) Listing() string {
	l := &lister{p: p, names: p.registerNames()}
	for i := range p.Tasks {
		l.task(&p.Tasks[i])
	}
	return l.String()
}

// StepListing lists the code of steps, as a run of the whole sheet executes it.
func (p *Program) StepListing(steps []Step) string {
	l := &lister{p: p, names: p.registerNames()}
	for _, s := range steps {
		if s.Task >= 0 {
			l.task(&p.Tasks[s.Task])
			continue
		}
		for _, in := range s.Code {
			fmt.Fprintf(l, "%s = %s\n", l.reg(in.Dst), l.instr(in))
		}
	}
	return l.String()
}

type lister struct {
	strings.Builder
	p     *Program
	names []string
}

// registerNames names the global registers: cells, constants, verdicts.
func (p *Program) registerNames() []string {
	names := make([]string, len(p.Initial))
	for i, v := range p.Initial {
		names[i] = constantName(v)
	}
	for i, c := range p.Model.Cells {
		names[p.Cells[i]] = c.Name
	}
	for i, v := range p.Verdicts {
		names[v.Value], names[v.Row] = p.verdictName(i), p.verdictName(i)+".row"
	}
	return names
}

func constantName(v float64) string {
	switch {
	case kernel.IsBlank(v):
		return "blank"
	case v != v:
		return "fault"
	}
	return fmt.Sprint(v)
}

func (p *Program) verdictName(i int) string {
	if i < len(p.Model.Limits) {
		return fmt.Sprintf("limit%d", i)
	}
	return fmt.Sprintf("advice%d", i-len(p.Model.Limits))
}

func (l *lister) task(t *Task) {
	switch t.Kind {
	case GivenCell:
		fmt.Fprintf(l, "given %s\n", l.names[t.Reg])
		return
	case GivenColumn:
		fmt.Fprintf(l, "given %s\n", l.p.ColumnName(t.Column))
		return
	}
	fmt.Fprintf(l, "%s\n", l.title(t))
	l.code("once", t.Once)
	l.code("first", t.First)
	label := "row"
	if t.Kind == ScalarTask {
		label = ""
	}
	l.code(label, t.Body)
	for _, c := range t.Loop {
		fmt.Fprintf(l, "          %s = %s%s\n", l.p.ColumnName(c.Column), l.reg(c.Now), l.before(c))
	}
	if t.Until != NoReg && t.Kind == LoopTask {
		fmt.Fprintf(l, "          until %s\n", l.reg(t.Until))
	}
}

func (l *lister) before(c Looped) string {
	if c.Before == NoReg {
		return ""
	}
	return ", before " + l.reg(c.Before)
}

func (l *lister) title(t *Task) string {
	switch t.Kind {
	case ColumnTask:
		return "column " + l.p.ColumnName(t.Column)
	case LoopTask:
		return "loop " + l.p.Model.Tables[t.Table].Name
	case VerdictTask:
		return fmt.Sprintf("%s over %s", l.names[t.Reg], l.p.Model.Tables[t.Table].Name)
	}
	return "cell " + l.names[t.Reg]
}

func (l *lister) code(label string, c Range) {
	for _, in := range l.p.Code(c) {
		fmt.Fprintf(l, "  %-7s %s = %s\n", label, l.reg(in.Dst), l.instr(in))
		label = ""
	}
}

func (l *lister) instr(in Instr) string {
	o := &Ops[in.Op]
	words := []string{o.Name}
	if o.C == Function { // the function's name comes first
		words = append(words, l.operand(o.C, in.C))
	}
	for _, f := range []struct {
		kind Operand
		v    int32
	}{{o.A, in.A}, {o.B, in.B}, {o.C, in.C}, {o.D, in.D}} {
		if f.kind == Between && f.v != Unread {
			words = append(words, "keep", l.reg(f.v))
		} else if f.kind != None && f.kind != Function && f.kind != Between {
			words = append(words, l.operand(f.kind, f.v))
		}
	}
	return strings.Join(words, " ")
}

func (l *lister) operand(kind Operand, v int32) string {
	switch kind {
	case Register, Truth:
		return l.reg(v)
	case Column, Cell:
		return l.p.ColumnName(v)
	case Function:
		return l.p.Model.Intrinsics[v].Name
	case Aggregate:
		return kernel.Aggregate(v).String()
	case Curve:
		c := l.p.Curves[v]
		return fmt.Sprintf("%s(%s, %s)", lookupNames[c.Form], l.p.ColumnName(c.Xs), l.p.ColumnName(c.Ys))
	}
	return ""
}

var lookupNames = [...]string{
	kernel.Linear: "linear", kernel.Clamped: "clamped", kernel.Monotone: "monotone", kernel.FirstAt: "first_at", kernel.Pick: "pick",
	kernel.Slope: "slope", kernel.LineAt: "line_at", kernel.SlopeSD: "slope_sd", kernel.ResidualSD: "residual_sd",
	kernel.MeanSD: "mean_sd", kernel.PredictionSD: "prediction_sd", kernel.EffectiveFreedom: "freedom",
}

func (l *lister) reg(r int32) string {
	if n := int(r) - len(l.p.Initial); n >= 0 {
		return fmt.Sprintf("t%d", n)
	}
	return l.names[r]
}
