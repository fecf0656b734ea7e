package program

import (
	"fmt"
	"strings"

	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
)

// Disassemble lists the program, a block a task in evaluation order.
// Registers of the frame are t0, t1, …; the others go by what they hold.
func (p *Program) Disassemble() string {
	l := &lister{p: p, names: p.registerNames()}
	for i := range p.tasks {
		l.task(i)
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
	names := make([]string, len(p.initial))
	for i, v := range p.initial {
		names[i] = constantName(v)
	}
	for i, c := range p.m.Cells {
		names[p.cellReg[i]] = c.Name
	}
	for i, v := range p.verdicts {
		names[v.value], names[v.row] = p.verdictName(i), p.verdictName(i)+".row"
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
	if i < len(p.m.Limits) {
		return fmt.Sprintf("limit%d", i)
	}
	return fmt.Sprintf("advice%d", i-len(p.m.Limits))
}

func (p *Program) columnName(i int32) string {
	if int(i) < len(p.m.Columns) {
		c := p.m.Columns[i]
		return c.Table.Name + "." + c.Name
	}
	return fmt.Sprintf("condition%d", int(i)-len(p.m.Columns))
}

func (l *lister) task(i int) {
	t := &l.p.tasks[i]
	switch t.kind {
	case givenCell:
		fmt.Fprintf(l, "given %s\n", l.names[t.reg])
		return
	case givenColumn:
		fmt.Fprintf(l, "given %s\n", l.p.columnName(t.column))
		return
	}
	fmt.Fprintf(l, "%s\n", l.title(t, l.p.g.Task(i)))
	l.code("once", t.pre)
	l.code("first", t.first)
	label := "row"
	if t.kind == scalarTask {
		label = ""
	}
	l.code(label, t.body)
	for _, c := range t.loop {
		fmt.Fprintf(l, "          %s = %s%s\n", l.p.columnName(c.column), l.reg(c.now), l.kept(c))
	}
	if t.until != noReg && t.kind == loopTask {
		fmt.Fprintf(l, "          until %s\n", l.reg(t.until))
	}
}

func (l *lister) kept(c looped) string {
	if c.before == noReg {
		return ""
	}
	return ", before " + l.reg(c.before)
}

func (l *lister) title(t *task, g graph.Task) string {
	switch t.kind {
	case columnTask:
		return "column " + l.p.columnName(t.column)
	case loopTask:
		return "loop " + g.Table.Name
	case verdictTask:
		return fmt.Sprintf("%s over %s", l.names[t.reg], l.p.m.Tables[t.table].Name)
	}
	return "cell " + l.names[t.reg]
}

func (l *lister) code(label string, c code) {
	for _, in := range l.p.code[c.from:c.to] {
		fmt.Fprintf(l, "  %-7s %s = %s\n", label, l.reg(in.dst), l.instr(in))
		label = ""
	}
}

func (l *lister) instr(in instr) string {
	o := &ops[in.op]
	words := []string{o.name}
	if o.c == intrinsic { // the function's name reads best in front
		words = append(words, l.operand(o.c, in.c))
	}
	for _, f := range []struct {
		kind operand
		v    int32
	}{{o.a, in.a}, {o.b, in.b}, {o.c, in.c}, {o.d, in.d}} {
		if f.kind == kept && f.v != junk {
			words = append(words, "keep", l.reg(f.v))
		} else if f.kind != none && f.kind != intrinsic && f.kind != kept {
			words = append(words, l.operand(f.kind, f.v))
		}
	}
	return strings.Join(words, " ")
}

func (l *lister) operand(kind operand, v int32) string {
	switch kind {
	case register:
		return l.reg(v)
	case column, columnHere:
		return l.p.columnName(v)
	case intrinsic:
		return l.p.m.Intrinsics[v].Name
	case aggregate:
		return kernel.Aggregate(v).String()
	case curve:
		c := l.p.curves[v]
		return fmt.Sprintf("%s(%s, %s)", lookupNames[c.form], l.p.columnName(c.xs), l.p.columnName(c.ys))
	}
	return ""
}

var lookupNames = [...]string{"", "linear", "clamped", "monotone", "first_at", "pick"}

func (l *lister) reg(r int32) string {
	if n := int(r) - len(l.p.initial); n >= 0 {
		return fmt.Sprintf("t%d", n)
	}
	return l.names[r]
}

// DisassembleRun lists what a Run does where no lane differs from another:
// scalars that follow on one another are compiled together.
func (p *Program) DisassembleRun() string {
	l := &lister{p: p, names: p.registerNames()}
	for _, s := range p.steadySteps() {
		if s.task >= 0 {
			l.task(int(s.task))
			continue
		}
		for _, in := range s.code {
			fmt.Fprintf(l, "%s = %s\n", l.reg(in.dst), l.instr(in))
		}
	}
	return l.String()
}
