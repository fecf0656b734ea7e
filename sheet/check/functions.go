package check

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// function is a declared function, the sheet's own or the library's.
type function struct {
	index   int32
	decl    *syntax.Function
	file    *source.File
	library bool
	from    *Worksheet // of the sheet's own: the file, and where in it
	place   place

	resolved bool
	broken   bool // its head has an error, or it calls itself
	generic  bool // a parameter takes anything
	params   []param
	busy     bool // an instance of it is being made
	walked   subjectState
}

// param describes the values that a parameter takes.
type param struct {
	form paramForm
	typ  TypeID // declared
	unit unitID // declared
	like int    // the parameter whose measure it shares
}

type paramForm uint8

const (
	anything paramForm = iota
	declared           // a unit, or text
	likeAnother
)

// body is a function's body while an instance of it is made.
type body struct {
	function *function
	types    []TypeID
	steps    []step
}

type step struct {
	name string
	root NodeID
}

// callKey finds the instance of a function for the types of its arguments.
type callKey struct {
	function int32
	args     [8]TypeID
	more     string // the types of further arguments
}

// call is the result of a call of a function with certain types.
type call struct {
	instance int32
	typ      TypeID
	unit     unitID
	hasPi    bool // the body contains pi, and its result may have turns
}

func (c *checker) addFunction(decl *syntax.Function, file *source.File) *function {
	f := &function{index: int32(len(c.functions)), decl: decl, file: file}
	c.functions = append(c.functions, f)
	return f
}

// declareFunction processes a function of the sheet or of one it uses.
func (c *checker) declareFunction(file int, decl *syntax.Function) {
	name := decl.Name
	if i, ok := c.own[name.Text]; ok {
		first := c.functions[i]
		c.fail(name.Span, diag.NameDuplicate, "the function %s is defined twice", name.Text).
			related(first.file, first.decl.Name.Span, "the first %s", name.Text)
		return
	}
	if c.intrinsic(name.Text) != nil {
		c.fail(name.Span, diag.FunctionBuiltin, "%s is built in and means the same in every sheet", name.Text).
			help("give the function another name")
		return
	}
	if lib, ok := c.lib.functions[name.Text]; ok {
		c.advise(name.Span, diag.LibraryShadowed, "the function %s hides the library's of that name in this sheet", name.Text).
			related(lib.file.File, lib.decl.Name.Span, "the library's %s", name.Text)
	}
	f := c.addFunction(decl, c.file)
	f.from, f.place = c.m.Files[file], c.merge.place
	c.own[name.Text] = f.index
}

// resolve reads the head of f, once.
func (c *checker) resolve(f *function) {
	if f.resolved {
		return
	}
	f.resolved = true
	saved := c.work
	c.work = work{file: f.file}
	for i := range f.decl.Params {
		f.params = append(f.params, c.readParam(f, i))
	}
	for i, p := range f.params {
		f.generic = f.generic || p.form == anything
		if p.form == likeAnother && f.params[p.like].form == likeAnother {
			c.fail(f.decl.Params[i].Unit.Span, diag.ParamLike, "%s takes its unit from %s, which takes its own from another parameter", f.decl.Params[i].Name.Text, f.decl.Params[i].Unit.Text).
				help("name the parameter that has a unit, or none")
			f.broken = true
		}
	}
	c.work = saved
	c.findRecursion(f)
}

// readParam reads parameter i of f.
func (c *checker) readParam(f *function, i int) param {
	p := &f.decl.Params[i]
	for _, before := range f.decl.Params[:i] {
		if before.Name.Text == p.Name.Text {
			c.fail(p.Name.Span, diag.NameDuplicate, "%s has two parameters called %s", f.decl.Name.Text, p.Name.Text)
			f.broken = true
		}
	}
	switch {
	case p.Unit == nil:
		return param{form: anything}
	case p.Unit.Text == "text":
		return param{form: declared, typ: textType}
	}
	for j := range f.decl.Params {
		if j != i && f.decl.Params[j].Name.Text == p.Unit.Text {
			return param{form: likeAnother, like: j}
		}
	}
	u, err := c.m.findUnit(p.Unit.Text)
	if err != nil {
		c.place(badUnit(err, p.Unit.Span))
		f.broken = true
		return param{form: declared}
	}
	return param{form: declared, typ: c.m.units[u].Type, unit: u}
}

// unitOf returns the unit that parameter i is declared in, 0 for none.
func (f *function) unitOf(i int) unitID {
	if p := f.params[i]; p.form == likeAnother {
		return f.params[p.like].unit
	}
	return f.params[i].unit
}

// bodyName resolves a name in a function's body.
func (c *checker) bodyName(b *body, name syntax.Name) NodeID {
	for i := len(b.steps) - 1; i >= 0; i-- {
		if b.steps[i].name == name.Text {
			id := c.node(reference(StepRef, c.m.Nodes[b.steps[i].root].Type(), int32(i)), name.Span)
			c.shown[id] = c.shown[b.steps[i].root]
			return id
		}
	}
	for i := range b.function.decl.Params {
		if b.function.decl.Params[i].Name.Text == name.Text {
			id := c.node(reference(ParamRef, b.types[i], int32(i)), name.Span)
			if len(b.types) == len(b.function.params) {
				c.shown[id] = b.function.unitOf(i)
			}
			return id
		}
	}
	if b.function.library {
		if id := c.libraryScalar(name.Text, name.Span); id != 0 {
			return id
		}
	}
	if name.Text == "pi" {
		return c.pi(name.Span)
	}
	return c.bodyUnknown(b, name)
}

func (c *checker) bodyUnknown(b *body, name syntax.Name) NodeID {
	if _, cell := c.m.names.find(name.Text); cell && !b.function.library {
		c.fail(name.Span, diag.BodyName, "a function sees only its parameters and steps, not the sheet's %s", name.Text).
			help("pass it: give %s a parameter for it", b.function.decl.Name.Text)
		return c.bad(name.Span)
	}
	r := c.fail(name.Span, diag.NameUnknown, "%s has no parameter or step %q", b.function.decl.Name.Text, name.Text)
	n := newSuggester(name.Text)
	for _, p := range b.function.decl.Params {
		n.try(p.Name.Text)
	}
	for _, s := range b.function.decl.Steps {
		if s.Name.Text == name.Text {
			r.help("the step %s is further down: steps are computed from top to bottom", name.Text)
			return c.bad(name.Span)
		}
		n.try(s.Name.Text)
	}
	if n.best != "" {
		r.help("did you mean %s?", n.best).repair(name.Span, n.best, "write %s", n.best)
	}
	return c.bad(name.Span)
}

// key returns the key of a call of f with arguments of these types.
func (f *function) key(types []TypeID) callKey {
	k := callKey{function: f.index}
	n := copy(k.args[:], types)
	if n < len(types) {
		var more strings.Builder
		for _, t := range types[n:] {
			more.WriteRune(rune(t))
		}
		k.more = more.String()
	}
	return k
}

// inferCall finds the instance that a call calls.
func (c *checker) inferCall(id NodeID) {
	n := c.m.Nodes[id]
	f := c.functions[n.Ref()]
	args := c.m.ArgsOf(&n)
	var room [8]TypeID
	types := room[:0]
	for _, a := range args {
		if c.m.Nodes[a].Type() == unknownType {
			c.keepArguments(id)
			return
		}
		types = append(types, c.m.Nodes[a].Type())
	}
	k := f.key(types)
	done, ok := c.calls[k]
	if !ok {
		done = c.newCall(f, id, types)
		if done.instance >= 0 {
			c.calls[k] = done
		}
	}
	if done.instance < 0 {
		c.spoil(id)
		return
	}
	c.m.Nodes[id].B = NodeID(done.instance)
	c.set(id, done.typ, done.unit)
	c.hasPi = c.hasPi || done.hasPi
	c.valids = c.valids || len(c.m.Instances[done.instance].Valids) > 0
	c.bareArguments(f, args)
}

// spoil replaces the node id by one that is not typed.
func (c *checker) spoil(id NodeID) { c.m.Nodes[id] = Node{Op: Bad} }

// keepArguments replaces the node id by one that only has its arguments: there
// is no instance for an unknown type, but package graph needs the arguments to
// find cycles. Such a sheet is never computed.
func (c *checker) keepArguments(id NodeID) {
	n := &c.m.Nodes[id]
	n.Op, n.B = Intrinsic, 0
}

// newCall checks the arguments of a call against the parameters and makes the
// instance if there is none yet.
func (c *checker) newCall(f *function, id NodeID, types []TypeID) call {
	failed := call{instance: -1}
	c.resolve(f)
	if f.broken {
		return failed
	}
	b := &body{function: f, types: make([]TypeID, len(types))}
	if !c.admitArguments(b, id, types) {
		return failed
	}
	k := f.key(b.types)
	if done, ok := c.calls[k]; ok {
		return done
	}
	if f.generic {
		return c.genericInstance(b, id, k)
	}
	done := c.makeInstance(b)
	c.calls[k] = done
	return done
}

// genericInstance makes the instance of a function whose body can be checked
// only for a call; its errors are reported at each call.
func (c *checker) genericInstance(b *body, id NodeID, k callKey) call {
	if d, failed := c.failures[k]; failed {
		c.bodyFails(b, id, d)
		return call{instance: -1}
	}
	list, reported := c.list, c.reported
	c.list, c.reported = nil, map[*source.File]int{}
	done := c.makeInstance(b)
	inner := c.list
	c.list, c.reported = list, reported
	if done.instance >= 0 {
		c.calls[k] = done
		return done
	}
	for _, d := range inner {
		if d.Severity == diag.Error {
			c.failures[k] = d
			c.bodyFails(b, id, d)
			break
		}
	}
	return done
}

// bodyFails reports the errors of a body for the types of the call id, at the
// call. Errors in inner calls are reported without the calls between.
func (c *checker) bodyFails(b *body, id NodeID, d diag.Diagnostic) {
	const goes = " does not fit these arguments: "
	name := b.function.decl.Name.Text
	message := d.Message
	if i := strings.LastIndex(message, goes); i >= 0 && d.Code == diag.CallBody {
		message = message[i+len(goes):]
	}
	r := c.fail(c.span(id), diag.CallBody, "%s%s%s", name, goes, message)
	r.related(d.File, d.Span, "in the body of %s", name)
	r.d.Help = d.Help
}

// admitArguments fills in the types of the parameters, or reports arguments
// that they do not take.
func (c *checker) admitArguments(b *body, id NodeID, types []TypeID) bool {
	ok := true
	f := b.function
	for i, p := range f.params {
		want := p.typ
		switch p.form {
		case anything:
			b.types[i] = types[i]
			continue
		case likeAnother:
			if other := f.params[p.like]; other.form == declared {
				want = other.typ
			} else {
				want = types[p.like]
			}
		}
		b.types[i] = c.m.mayBlank(c.m.present(want), c.m.Types[types[i]].MayBlank)
		ok = c.admitArgument(f, id, i, types[i], want) && ok
	}
	return ok
}

// admitArgument reports whether parameter i, which takes want, takes have.
func (c *checker) admitArgument(f *function, id NodeID, i int, have, want TypeID) bool {
	h, w := c.m.Types[have], c.m.Types[want]
	name := f.decl.Params[i].Name.Text
	arg := c.m.ArgsOf(&c.m.Nodes[id])[i]
	if h.Form != w.Form {
		c.fail(c.span(arg), diag.FormMismatch, "%s takes %s as %s, and %s is %s", f.decl.Name.Text, formName(w.Form), name, c.quote(arg), formName(h.Form)).
			related(f.file, f.decl.Params[i].Name.Span, "%s", f.usage())
		return false
	}
	if h.Form != Number {
		return true
	}
	problem := unit.Meets(h.Measure, w.Measure)
	if problem == "" {
		return true
	}
	message, help := c.m.Units.MismatchText(f.decl.Name.Text, h.Measure, w.Measure, c.quote(arg), "its "+name)
	r := c.fail(c.span(arg), argumentCode(problem), "%s", message)
	r.d.Help = help
	r.related(f.file, f.decl.Params[i].Name.Span, "%s", f.usage())
	if problem == unit.KindsDiffer {
		c.offerKind(r, arg, w.Measure.Kind)
	}
	return false
}

func argumentCode(p unit.Problem) diag.Code {
	if p == unit.KindsDiffer {
		return diag.ArgumentKind
	}
	return problemCode(p)
}
