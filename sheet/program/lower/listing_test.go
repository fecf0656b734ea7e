package lower_test

import (
	"fmt"
	"strings"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// listing lists the code of every task in evaluation order. Registers of the
// frame are t0, t1, …; the others are named after their contents.
func listing(s *lower.Sheet) string {
	l := newLister(s.Code)
	for i := range s.Code.Tasks {
		l.task(&s.Code.Tasks[i])
	}
	return l.String()
}

// stepListing lists the code that a run of the whole sheet executes. together
// is that of Steps.
func stepListing(s *lower.Sheet, together int) string {
	l := newLister(s.Code)
	for _, step := range s.Steps(func(int32) bool { return true }, together) {
		if step.Task >= 0 {
			l.task(&s.Code.Tasks[step.Task])
			continue
		}
		for _, in := range step.Code {
			fmt.Fprintf(l, "%s = %s\n", l.reg(in.Dst), l.instr(in))
		}
	}
	return l.String()
}

type lister struct {
	strings.Builder
	p     *code.Program
	names []string
}

func newLister(p *code.Program) *lister { return &lister{p: p, names: registerNames(p)} }

// registerNames names the global registers: cells, constants, verdicts.
func registerNames(p *code.Program) []string {
	names := make([]string, len(p.Initial))
	for i, v := range p.Initial {
		names[i] = constantName(v)
	}
	for i, c := range p.Model.Cells {
		names[p.Cells[i]] = c.Name
	}
	for i, v := range p.Verdicts {
		name := verdictName(p, i)
		names[v.Value], names[v.Row] = name, name+".row"
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

func verdictName(p *code.Program, i int) string {
	if i < len(p.Model.Limits) {
		return fmt.Sprintf("limit%d", i)
	}
	return fmt.Sprintf("advice%d", i-len(p.Model.Limits))
}

func (l *lister) task(t *code.Task) {
	switch t.Kind {
	case code.GivenCell:
		fmt.Fprintf(l, "given %s\n", l.names[t.Reg])
		return
	case code.GivenColumn:
		fmt.Fprintf(l, "given %s\n", l.p.ColumnName(t.Column))
		return
	}
	fmt.Fprintf(l, "%s\n", l.title(t))
	l.instrs("once", t.Once)
	l.instrs("first", t.First)
	label := "row"
	if t.Kind == code.ScalarTask {
		label = ""
	}
	l.instrs(label, t.Body)
	for _, c := range t.Loop {
		fmt.Fprintf(l, "          %s = %s%s\n", l.p.ColumnName(c.Column), l.reg(c.Now), l.before(c))
	}
	if t.Until != code.NoReg && t.Kind == code.LoopTask {
		fmt.Fprintf(l, "          until %s\n", l.reg(t.Until))
	}
}

func (l *lister) before(c code.Looped) string {
	if c.Before == code.NoReg {
		return ""
	}
	return ", before " + l.reg(c.Before)
}

func (l *lister) title(t *code.Task) string {
	switch t.Kind {
	case code.ColumnTask:
		return "column " + l.p.ColumnName(t.Column)
	case code.LoopTask:
		return "loop " + l.p.Model.Tables[t.Table].Name
	case code.VerdictTask:
		return fmt.Sprintf("%s over %s", l.names[t.Reg], l.p.Model.Tables[t.Table].Name)
	}
	return "cell " + l.names[t.Reg]
}

func (l *lister) instrs(label string, c code.Range) {
	for _, in := range l.p.Code(c) {
		fmt.Fprintf(l, "  %-7s %s = %s\n", label, l.reg(in.Dst), l.instr(in))
		label = ""
	}
}

func (l *lister) instr(in code.Instr) string {
	o := &code.Ops[in.Op]
	words := []string{o.Name}
	if o.C == code.Function { // the function's name comes first
		words = append(words, l.operand(o.C, in.C))
	}
	for _, f := range []struct {
		kind code.Operand
		v    int32
	}{{o.A, in.A}, {o.B, in.B}, {o.C, in.C}, {o.D, in.D}} {
		if f.kind == code.Between && f.v != code.Unread {
			words = append(words, "keep", l.reg(f.v))
		} else if f.kind != code.None && f.kind != code.Function && f.kind != code.Between {
			words = append(words, l.operand(f.kind, f.v))
		}
	}
	return strings.Join(words, " ")
}

func (l *lister) operand(kind code.Operand, v int32) string {
	switch kind {
	case code.Register, code.Truth:
		return l.reg(v)
	case code.Column, code.Cell:
		return l.p.ColumnName(v)
	case code.Function:
		return l.p.Model.Intrinsics[v].Name
	case code.Aggregate:
		return kernel.Aggregate(v).String()
	case code.Curve:
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
