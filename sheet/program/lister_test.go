package program

import (
	"fmt"
	"strings"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Listing lists the code of every task, in the order of evaluation. Registers
// of the frame are t0, t1, …; the others go by what they hold.
func (p *Program) Listing() string {
	l := &lister{p: p, names: p.registerNames()}
	for i := range p.Tasks {
		l.task(&p.Tasks[i])
	}
	return l.String()
}

// RunListing lists what a Run does.
func (p *Program) RunListing() string {
	l := &lister{p: p, names: p.registerNames()}
	for _, s := range p.steps() {
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
	for i, c := range p.Model().Cells {
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
	if i < len(p.Model().Limits) {
		return fmt.Sprintf("limit%d", i)
	}
	return fmt.Sprintf("advice%d", i-len(p.Model().Limits))
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
	l.code("once", t.Once)
	l.code("first", t.First)
	label := "row"
	if t.Kind == code.ScalarTask {
		label = ""
	}
	l.code(label, t.Body)
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
		return "loop " + l.p.Model().Tables[t.Table].Name
	case code.VerdictTask:
		return fmt.Sprintf("%s over %s", l.names[t.Reg], l.p.Model().Tables[t.Table].Name)
	}
	return "cell " + l.names[t.Reg]
}

func (l *lister) code(label string, c code.Range) {
	for _, in := range l.p.Code(c) {
		fmt.Fprintf(l, "  %-7s %s = %s\n", label, l.reg(in.Dst), l.instr(in))
		label = ""
	}
}

func (l *lister) instr(in code.Instr) string {
	o := &code.Ops[in.Op]
	words := []string{o.Name}
	if o.C == code.Function { // the function's name reads best in front
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
		return l.p.Model().Intrinsics[v].Name
	case code.Aggregate:
		return kernel.Aggregate(v).String()
	case code.Curve:
		c := l.p.Curves[v]
		return fmt.Sprintf("%s(%s, %s)", lookupNames[c.Form], l.p.ColumnName(c.Xs), l.p.ColumnName(c.Ys))
	}
	return ""
}

var lookupNames = [...]string{"", "linear", "clamped", "monotone", "first_at", "pick"}

func (l *lister) reg(r int32) string {
	if n := int(r) - len(l.p.Initial); n >= 0 {
		return fmt.Sprintf("t%d", n)
	}
	return l.names[r]
}
