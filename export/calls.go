package export

import (
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// call expands a function of the worksheet language, or one of its conditions:
// an argument or a step that is used more than once becomes a step of its own,
// on the tab of steps.
func (p *printer) call(n *check.Node) term {
	inst, result := p.m.ResultOf(n)
	return p.within(inst, p.m.ArgsOf(n), func() term { return p.operation(result) })
}

// within runs print inside a call of inst.
func (p *printer) within(inst *check.Instance, args []check.NodeID, print func() term) term {
	outer := p.env
	p.env = &call{
		inst: inst, args: args, outer: outer,
		params: make([]*term, len(args)), steps: make([]*term, len(inst.Steps)),
	}
	t := print()
	p.env = outer
	return t
}

// param returns the term of argument i.
func (p *printer) param(i int) term {
	env := p.env
	if env.params[i] == nil {
		called := stepLabel{paramName(env.inst, i), env.inst.Name}
		p.env = env.outer
		u := p.b.usesOf(env.inst)
		t := p.read(env.args[i], called, u.params[i], u.signParams[i])
		p.env = env
		env.params[i] = &t
	}
	return *env.params[i]
}

// stepOf returns the term of step i of the function being expanded.
func (p *printer) stepOf(i int) term {
	env := p.env
	if env.steps[i] == nil {
		called := stepLabel{stepName(env.inst, i), env.inst.Name}
		u := p.b.usesOf(env.inst)
		t := p.read(env.inst.Steps[i], called, u.steps[i], u.signSteps[i])
		env.steps[i] = &t
	}
	return *env.steps[i]
}

// read returns the term of an argument or a step that a function reads so many
// times, with its sign if the function compares it with 0.
func (p *printer) read(id check.NodeID, s stepLabel, times int, sign bool) term {
	t := term{}
	if sign {
		t = p.withSign(id)
	} else {
		t = p.operation(id)
	}
	if times > 1 {
		return p.repeated(t, id, s)
	}
	return p.short(t, s)
}

// repeated returns a term that a function reads more than once. A computed term
// becomes a step in SI, which keeps the published constants of the function; in
// a table with many rows only if it is long.
func (p *printer) repeated(t term, id check.NodeID, s stepLabel) term {
	switch p.m.Node(id).Op {
	case check.ParamRef, check.StepRef, check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef, check.Const:
		return p.simple(t, s)
	}
	if !t.signed || t.constant() || p.costly(t) || t.k == 1 && t.c == 0 && !t.under {
		return p.simple(t, s)
	}
	return p.step(t.in(1, 0), s)
}

func paramName(inst *check.Instance, i int) string {
	if decl := inst.Decl(); decl != nil && i < len(decl.Params) {
		return decl.Params[i].Name.Text
	}
	return "argument"
}

func stepName(inst *check.Instance, i int) string {
	if decl := inst.Decl(); decl != nil && i < len(decl.Steps) {
		return decl.Steps[i].Name.Text
	}
	return "step"
}

// uses counts how often a function's result and steps read each parameter and
// each step, and which of them it compares with 0.
type uses struct {
	params, steps         []int
	signParams, signSteps []bool
}

func newUses(inst *check.Instance) *uses {
	return &uses{
		params: make([]int, len(inst.Params)), steps: make([]int, len(inst.Steps)),
		signParams: make([]bool, len(inst.Params)), signSteps: make([]bool, len(inst.Steps)),
	}
}

func (b *book) usesOf(inst *check.Instance) *uses {
	if u := b.uses[inst]; u != nil {
		return u
	}
	u := newUses(inst)
	b.count(inst.Result, u)
	for _, s := range inst.Steps {
		b.count(s, u)
	}
	for _, v := range inst.Valids {
		b.countValid(inst, v.Cond, u)
	}
	b.uses[inst] = u
	return u
}

func (b *book) count(id check.NodeID, u *uses) {
	b.walk(id, func(n *check.Node) {
		switch n.Op {
		case check.ParamRef:
			u.params[n.Ref()]++
		case check.StepRef:
			u.steps[n.Ref()]++
		}
		if _, compares := comparison[n.Op]; compares {
			b.markSigns(n.A, n.B, u)
			b.markSigns(n.B, n.A, u)
		}
	})
}

// markSigns marks a parameter or step that is compared with 0.
func (b *book) markSigns(id, other check.NodeID, u *uses) {
	if !b.zero(other) {
		return
	}
	switch n := b.m.Node(id); n.Op {
	case check.ParamRef:
		u.signParams[n.Ref()] = true
	case check.StepRef:
		u.signSteps[n.Ref()] = true
	}
}

// countValid counts within one condition, because each is expanded separately.
func (b *book) countValid(inst *check.Instance, id check.NodeID, u *uses) {
	own := newUses(inst)
	b.count(id, own)
	for i, n := range own.params {
		u.params[i] = max(u.params[i], n)
		u.signParams[i] = u.signParams[i] || own.signParams[i]
	}
	for i, n := range own.steps {
		u.steps[i] = max(u.steps[i], n)
		u.signSteps[i] = u.signSteps[i] || own.signSteps[i]
	}
}

// walk visits a node and everything below it.
func (b *book) walk(id check.NodeID, visit func(n *check.Node)) {
	if id == 0 {
		return
	}
	n := b.m.Node(id)
	visit(n)
	for _, below := range b.m.AppendOperands(nil, n) {
		b.walk(below, visit)
	}
}

// intrinsic writes a function that the worksheet language cannot express, in
// its spreadsheet spelling.
func (p *printer) intrinsic(n *check.Node) term {
	row := p.m.IntrinsicOf(n)
	ids := p.m.ArgsOf(n)
	args := make([]term, len(ids))
	for i, id := range ids {
		args[i] = p.term(id)
	}
	switch {
	case row.Rule == kernel.Constant:
		return number(row.Apply())
	case row.Rule == kernel.DropsKind || row.F1 == nil && row.F2 == nil && len(args) == 1:
		return args[0]
	case constants(args):
		return p.computed(row, args)
	}
	switch row.Name {
	case "min", "max":
		return p.extreme(strings.ToUpper(row.Name), args)
	case "abs":
		return absolute(args[0])
	case "sqrt":
		return p.power(args[0], number(0.5))
	}
	return p.spelled(row, args)
}

func constants(args []term) bool {
	for _, a := range args {
		if !a.constant() {
			return false
		}
	}
	return true
}

func (p *printer) computed(row *kernel.Intrinsic, args []term) term {
	values := make([]float64, len(args))
	for i, a := range args {
		values[i] = a.c
	}
	if v := row.Apply(values...); v == v {
		return number(v)
	}
	return noValue()
}

// extreme returns the smallest or largest of args, in the unit of the first
// that has one.
func (p *printer) extreme(name string, args []term) term {
	if len(args) == 1 {
		return args[0]
	}
	r := term{signed: true, bind: atom, k: 1}
	whole := true
	for _, a := range args {
		if !a.constant() && !a.under && a.k > 0 {
			r.k, r.c = a.k, a.c
			break
		}
	}
	texts := make([]string, len(args))
	for i, a := range args {
		args[i] = a.in(r.k, r.c)
		if total(args[:i+1]) > 300 {
			args[i] = p.step(a, p.part()).in(r.k, r.c)
		}
		texts[i] = args[i].entry().text
		whole = whole && a.whole
	}
	r = r.carry(args...)
	r.whole = whole && r.k == 1 && r.c == 0
	r.text = name + "(" + strings.Join(texts, ",") + ")"
	return r
}

func total(args []term) int {
	n := 0
	for _, a := range args {
		n += len(a.text)
	}
	return n
}

func absolute(x term) term {
	x = x.settled()
	if x.under {
		x = x.in(1, 0)
	}
	r := term{signed: true, bind: atom, k: x.k}.carry(x)
	if r.k < 0 {
		r.k = -r.k
	}
	r.whole = x.whole
	r.text = "ABS(" + x.text + ")"
	return r
}

// spelled fills the arguments into an intrinsic's spreadsheet spelling.
func (p *printer) spelled(row *kernel.Intrinsic, args []term) term {
	if row.Sheet == "" {
		return p.fail("a spreadsheet has no " + row.Name)
	}
	r := term{signed: true, bind: atom, k: 1}.carry(args...)
	r.risky = true
	for i, a := range args {
		mark := "$" + string(rune('1'+i))
		a = a.in(1, 0)
		if strings.Count(row.Sheet, mark) > 1 {
			a = p.simple(a, stepLabel{"argument", row.Name})
		}
		args[i] = a
	}
	r.text = fill(row.Sheet, args)
	r.bind = spelledBinding(row.Sheet)
	return r
}

// fill replaces $1, $2 … by the arguments, in brackets unless one is alone
// between commas and brackets.
func fill(spelling string, args []term) string {
	var b strings.Builder
	for i := 0; i < len(spelling); i++ {
		place := -1
		if spelling[i] == '$' && i+1 < len(spelling) {
			place = int(spelling[i+1]) - '1'
		}
		if place < 0 || place >= len(args) {
			b.WriteByte(spelling[i])
			continue
		}
		opens := i == 0 || strings.IndexByte("(,", spelling[i-1]) >= 0
		closes := i+2 == len(spelling) || strings.IndexByte("),", spelling[i+2]) >= 0
		if opens && closes {
			b.WriteString(args[place].text)
		} else {
			b.WriteString(args[place].bracket(atom))
		}
		i++
	}
	return b.String()
}

// spelledBinding returns the precedence of a spelling: that of an atom if it is
// one call.
func spelledBinding(spelling string) binding {
	depth := 0
	for i, r := range spelling {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
			if depth == 0 && i == len(spelling)-1 {
				return atom
			}
		case '+', '-', '*', '/', '^', '<', '>', '=':
			if depth == 0 {
				return compares
			}
		}
	}
	return atom
}
