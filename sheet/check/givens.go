package check

import (
	"fmt"
	"math"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// literal is a value of a text.
type literal struct {
	value float64
	typ   TypeID
	unit  unitID
}

// readLiteral returns the value of a literal; a bare number takes the unit
// bare.
func (m *Model) readLiteral(e syntax.Expr, bare unitID) (literal, *diag.Diagnostic) {
	switch e := e.(type) {
	case *syntax.Number:
		return m.readNumber(e, bare)
	case *syntax.Text:
		return literal{value: m.text(e.Value), typ: textType}, nil
	case *syntax.Truth:
		return literal{value: kernel.Truth(e.Value), typ: truthType}, nil
	case *syntax.Empty:
		return literal{value: kernel.Blank, typ: unknownType}, nil
	}
	return literal{}, &diag.Diagnostic{
		Code: diag.GivenFormula, Span: e.Pos(),
		Message: "a given is a plain value: write what is computed after =",
	}
}

func (m *Model) readNumber(e *syntax.Number, u unitID) (literal, *diag.Diagnostic) {
	if e.Unit != nil {
		id, err := m.findUnit(e.Unit.Text)
		if err != nil {
			return literal{}, badUnit(err, e.Unit.Span)
		}
		u = id
	}
	v, ok := m.si(e.Value, u)
	if !ok || math.IsNaN(v) {
		return literal{}, &diag.Diagnostic{
			Code: diag.NumberRange, Span: e.Span,
			Message: "this number is too large to compute with",
		}
	}
	return literal{value: v, typ: m.units[u].Type, unit: u}, nil
}

// valueUnit is the unit of the bare numbers of a list: the unit of the last
// value.
func (m *Model) valueUnit(values []syntax.Expr) unitID {
	if len(values) == 0 {
		return 0
	}
	if n, ok := values[len(values)-1].(*syntax.Number); ok && n.Unit != nil {
		if id, err := m.findUnit(n.Unit.Text); err == nil {
			return id
		}
	}
	return 0
}

// readGivens reads the scalars' values and their clauses.
func (c *checker) readGivens() {
	for _, cell := range c.m.Cells {
		if cell.Given || cell.Plugged {
			c.file = c.fileOf(&cell.Quantity)
			c.readGiven(cell)
		}
	}
	c.settleConflicts()
	c.settleClauses()
}

// fileOf returns the file that q is declared in.
func (c *checker) fileOf(q *Quantity) *source.File { return c.m.Files[q.Origin.File].File }

// readGiven reads the value of a scalar.
func (c *checker) readGiven(cell *Cell) {
	decl := c.decl(&cell.Quantity)
	switch {
	case decl.From != nil:
		c.fail(decl.From.Span, diag.FromOutside, "only a column of a table comes from a file")
		return
	case len(decl.Values) == 0:
		return // the parser has reported it
	case len(decl.Values) > 1:
		c.fail(decl.Span, diag.GivenList, "%s has %d values: outside a table a cell has one", cell.Name, len(decl.Values)).
			help("write a list in a table, as one of its columns")
		return
	}
	lit, d := c.m.readLiteral(decl.Values[0], 0)
	if d != nil {
		c.place(d)
		return
	}
	cell.Value = lit.value
	sub := &c.subjects[cell.Index]
	sub.typ, sub.unit = c.describeGiven(&cell.Quantity, decl, lit)
	if d := c.m.AdmitValue(&cell.Quantity, lit.value, decl.Values[0].Pos()); d != nil {
		c.place(d)
	}
	c.keepTyped(&cell.Quantity, decl.Values[0], lit.value)
	c.readSpread(&cell.Quantity, decl, lit.value)
	if c.merge.overrides[cell.Index] != nil {
		c.overrideValue(cell)
	}
}

// overrideValue sets the value of a given from a sheet above.
func (c *checker) overrideValue(cell *Cell) {
	file := c.file
	c.file = c.in.Files[c.merge.last[cell.Index]].Tree.File
	defer func() { c.file = file }()
	decl := c.merge.overrides[cell.Index]
	if len(decl.Values) != 1 {
		c.fail(decl.Span, diag.GivenList, "%s is a single value", cell.Name)
		return
	}
	several := len(c.merge.beside[cell.Index]) > 0
	if several {
		c.restateClauses(&cell.Quantity, c.merge.lines[cell.Index])
	}
	v, d := c.m.Admit(&cell.Quantity, decl.Values[0])
	if d != nil {
		c.place(d)
		return
	}
	cell.Value = v
	c.keepTyped(&cell.Quantity, decl.Values[0], v)
	c.overrideClauses(&cell.Quantity, decl, several)
	if decl.Tolerance == nil && decl.Deviation == nil {
		c.file = file
		decl = c.decl(&cell.Quantity) // its spread stays, and one in percent follows the value
		if over := restated(c.merge.lines[cell.Index]); several && spread(over) != nil {
			decl = over
		}
	}
	c.readSpread(&cell.Quantity, decl, v)
}

// overrideClauses advises against clauses that belong to the first declaration.
// If several worksheets give the name, range and choice may be restated.
func (c *checker) overrideClauses(q *Quantity, decl *syntax.Cell, several bool) {
	limits := !several && (decl.Range != nil || decl.Choice != nil)
	if limits || decl.As != nil || decl.To != nil || decl.Label != nil {
		c.advise(decl.Name.Span, diag.OverrideClause, "%s keeps the range, choice, unit and label of the worksheet it comes from; here only its value counts", q.Name).
			related(c.fileOf(q), c.decl(q).Span, "%s is here", q.Name)
	}
}

// describeGiven sets the type, unit and clauses of a given whose first value is
// lit, and returns its type and shown unit.
func (c *checker) describeGiven(q *Quantity, decl *syntax.Cell, lit literal) (TypeID, unitID) {
	t, u := lit.typ, lit.unit
	if c.m.Types[t].Form != Number {
		q.Look = c.m.look(t, 0)
		c.formClauses(q, decl)
		c.readChoice(q, decl, 0)
		return t, 0
	}
	if decl.As != nil {
		if typ, as, ok := c.applyAs(decl.As, t, q.Name); ok {
			t, u = typ, as
		}
	}
	q.Look = c.m.givenLook(t, u)
	if to := c.readTo(decl.To, q); to != 0 {
		q.own().To = to
	}
	c.readRange(q, decl, lit.unit)
	c.readChoice(q, decl, lit.unit)
	return t, u
}

// wholeCount reports whether values of m are whole teeth or links.
func wholeCount(m unit.Measure) bool {
	one := unit.Exponent{Num: 1}
	return m.Dimensionless() && (m.Counts == unit.Counts{unit.Teeth: one} || m.Counts == unit.Counts{unit.Links: one})
}

// formClauses refuses clauses that need a number.
func (c *checker) formClauses(q *Quantity, decl *syntax.Cell) {
	what := formName(q.Type.Form)
	refuse := func(span source.Span, clause string) {
		c.fail(span, diag.ClauseForm, "%s is %s: %s is for numbers only", q.Name, what, clause)
	}
	if decl.As != nil {
		refuse(decl.As.Span, "as")
	}
	if decl.To != nil {
		refuse(decl.To.Span, "to")
	}
	numberClauses(decl, refuse)
}

// readTo returns the shown precision in the shown unit of q.
func (c *checker) readTo(to *syntax.Number, q *Quantity) float64 {
	if to == nil {
		return 0
	}
	step, ok := c.scaleOnly(to, q.Unit, q.Type.Measure, "to")
	if !ok {
		return 0
	}
	if step <= 0 {
		c.fail(to.Span, diag.ClauseSign, "a step of what is shown must be more than 0")
		return 0
	}
	if to.Unit == nil {
		return to.Value
	}
	return step / q.Unit.Scale
}

// scaleOnly returns a step or spread in SI: it uses only the scale of its unit,
// so 2 degC is a difference of two kelvin.
func (c *checker) scaleOnly(n *syntax.Number, own unit.Unit, measure unit.Measure, clause string) (float64, bool) {
	u := own
	if n.Unit != nil {
		id, err := c.m.findUnit(n.Unit.Text)
		if err != nil {
			c.place(badUnit(err, n.Unit.Span))
			return 0, false
		}
		u = c.m.units[id].Unit
		if u.Measure.Dim != measure.Dim {
			c.fail(n.Span, diag.DimensionMismatch, "%s takes a value of the cell's own dimension, %s; this is %s", clause, c.m.Units.Describe(measure), c.m.Units.Describe(u.Measure))
			return 0, false
		}
	}
	return n.Value * u.Scale, true
}

// readSpread reads ± and sd, for the value v.
func (c *checker) readSpread(q *Quantity, decl *syntax.Cell, v float64) {
	n, form := decl.Tolerance, Limits
	if n == nil {
		n, form = decl.Deviation, Deviation
	}
	if n == nil || q.Type.Form != Number {
		return
	}
	spread, ok := 0.0, true
	relative := n.Unit != nil && n.Unit.Text == "%" && !strings.HasSuffix(c.valueText(decl), "%")
	if relative && q.Type.Measure.Dim == kelvin && q.Type.Measure.Kind == unit.Absolute {
		c.pointPercent(q, n, v)
		return
	}
	if relative {
		spread = math.Abs(v) * n.Value / 100
	} else {
		spread, ok = c.scaleOnly(n, c.spreadUnit(decl), q.Type.Measure, "±")
	}
	if n.Value < 0 {
		c.fail(n.Span, diag.ClauseSign, "a tolerance applies to both sides and cannot be below 0")
		return
	}
	if ok {
		own := q.own()
		own.Tolerance, own.Spread = form, spread
	}
}

// pointPercent refuses a spread in percent of a temperature on a scale, which
// would be relative to absolute zero.
func (c *checker) pointPercent(q *Quantity, n *syntax.Number, v float64) {
	symbol := "delta" + strings.TrimPrefix(q.Unit.Symbol, "deg")
	u := unit.Unit{Scale: q.Unit.Scale}
	of := func(size float64) string {
		step := math.Pow10(int(math.Floor(math.Log10(size))) - 1)
		return unit.FormatNumber(math.Round(size/step)*step, 0) + " " + symbol
	}
	r := c.fail(n.Span, diag.ClauseForm, "%s of a temperature on a scale depends on where the scale begins: it is %s here, from absolute zero", syntax.String(n), u.Format(math.Abs(v)*n.Value/100, 0)+" "+symbol).
		help("say how far the temperature itself may lie off, as in ± 2 %s", symbol)
	if size := math.Abs(v) * n.Value / 100 / q.Unit.Scale; size > 0 && !c.muted(r) {
		r.repair(n.Span, of(size), "keep the value: write %s", of(size))
	}
}

// valueText returns the text of the unit of decl's values.
func (c *checker) valueText(decl *syntax.Cell) string {
	if len(decl.Values) > 0 {
		if n, ok := decl.Values[len(decl.Values)-1].(*syntax.Number); ok && n.Unit != nil {
			return n.Unit.Text
		}
	}
	if decl.FromUnit != nil {
		return decl.FromUnit.Text
	}
	return ""
}

// spreadUnit is the unit of a bare ± or sd: the value's own.
func (c *checker) spreadUnit(decl *syntax.Cell) unit.Unit {
	if text := c.valueText(decl); text != "" {
		if id, err := c.m.findUnit(text); err == nil {
			return c.m.units[id].Unit
		}
	}
	return unit.Unit{Scale: 1}
}

// readRange reads `range a..b` into SI.
func (c *checker) readRange(q *Quantity, decl *syntax.Cell, bare unitID) {
	if decl.Range == nil {
		return
	}
	if u := c.m.valueUnit([]syntax.Expr{decl.Range.Hi}); u != 0 {
		bare = u
	}
	lo, ok := c.clauseValue(q, decl.Range.Lo, bare)
	hi, ok2 := c.clauseValue(q, decl.Range.Hi, bare)
	if !ok || !ok2 {
		return
	}
	if lo > hi {
		c.fail(decl.Range.Span, diag.RangeOrder, "this range runs backwards: write the smaller end first").
			repair(decl.Range.Span, swapped(decl.Range), "swap the ends")
		return
	}
	q.own().Range = &[2]float64{lo, hi}
}

// swapped writes a range with its ends exchanged; a unit after the last number
// stays last.
func swapped(r *syntax.Range) string {
	lo, ok := r.Lo.(*syntax.Number)
	hi, ok2 := r.Hi.(*syntax.Number)
	if !ok || !ok2 || lo.Unit != nil || hi.Unit == nil {
		return syntax.String(r.Hi) + ".." + syntax.String(r.Lo)
	}
	first, last := *hi, *lo
	first.Unit, last.Unit = nil, hi.Unit
	return syntax.String(&first) + ".." + syntax.String(&last)
}

// readChoice reads `choice a, b, c`.
func (c *checker) readChoice(q *Quantity, decl *syntax.Cell, bare unitID) {
	if len(decl.Choice) == 0 {
		return
	}
	if u := c.m.valueUnit(decl.Choice); u != 0 {
		bare = u
	}
	values := make([]float64, 0, len(decl.Choice))
	for _, e := range decl.Choice {
		if v, ok := c.clauseValue(q, e, bare); ok {
			values = append(values, v)
			c.keepTyped(q, e, v)
		}
	}
	if len(values) == len(decl.Choice) {
		q.own().Choice = values
	}
}

// clauseValue reads a value of range or choice.
func (c *checker) clauseValue(q *Quantity, e syntax.Expr, bare unitID) (float64, bool) {
	if _, reported := e.(*syntax.BadExpr); reported {
		return 0, false
	}
	lit, d := c.m.readFor(q, e, bare)
	if d == nil && q.Whole && !whole(lit.value) {
		d = notWhole(q, e.Pos())
	}
	if d != nil {
		c.place(d)
		return 0, false
	}
	return lit.value, true
}

// readFor reads a literal that is to be a value of q.
func (m *Model) readFor(q *Quantity, e syntax.Expr, bare unitID) (literal, *diag.Diagnostic) {
	lit, d := m.readLiteral(e, bare)
	if d == nil {
		d = m.fits(q, lit, e)
	}
	return lit, d
}

// fits reports why a literal is not a value of q: another form, dimension or
// kind.
func (m *Model) fits(q *Quantity, lit literal, e syntax.Expr) *diag.Diagnostic {
	if lit.typ == unknownType {
		return nil
	}
	t := m.Types[lit.typ]
	if t.Form != q.Type.Form {
		return &diag.Diagnostic{
			Code: diag.FormMismatch, Span: e.Pos(),
			Message: fmt.Sprintf("%s is %s, but this is %s", q.Name, formName(q.Type.Form), formName(t.Form)),
		}
	}
	if t.Form != Number {
		return nil
	}
	problem := unit.Meets(t.Measure, q.Type.Measure)
	if problem == "" {
		return nil
	}
	message, help := m.Units.LiteralText(q.Type.Measure, t.Measure, q.Name, literalText(e), q.Unit.Symbol)
	return &diag.Diagnostic{Code: problemCode(problem), Span: e.Pos(), Message: message, Help: help}
}

// literalText prints a literal for a message.
func literalText(e syntax.Expr) string { return syntax.String(e) }

// problemCode returns the code of two incompatible measures.
func problemCode(p unit.Problem) diag.Code {
	switch p {
	case unit.CountsDiffer:
		return diag.CountMismatch
	case unit.KindsDiffer:
		return diag.KindMismatch
	}
	return diag.DimensionMismatch
}

// Admit returns e as a value of the given q, as stored while computing,
// or reports why q cannot have it. A bare number takes the unit in which q is
// shown. A value outside the range of q is admitted, with an advice.
func (m *Model) Admit(q *Quantity, e syntax.Expr) (float64, *diag.Diagnostic) {
	lit, d := m.readFor(q, e, m.unitOf(q.Unit))
	if d == nil && lit.typ == unknownType && !q.Type.MayBlank {
		d = &diag.Diagnostic{Code: diag.GivenEmpty, Span: e.Pos(), Message: fmt.Sprintf("%s needs a value", q.Name)}
	}
	if d == nil {
		d = m.AdmitValue(q, lit.value, e.Pos())
	}
	return lit.value, d
}

// unitOf returns the place of u in m.units.
func (m *Model) unitOf(u unit.Unit) unitID {
	if u.Symbol == "" {
		return 0
	}
	for i := range m.units {
		if m.units[i].Unit == u {
			return unitID(i)
		}
	}
	return m.addUnit(u.Symbol, u)
}

// AdmitValue reports why v, which has the type of q, is refused: not among its
// choices, or half a tooth.
func (m *Model) AdmitValue(q *Quantity, v float64, span source.Span) *diag.Diagnostic {
	if kernel.IsBlank(v) {
		return nil
	}
	if q.Whole && !whole(v) {
		return notWhole(q, span)
	}
	if len(q.Choice) == 0 {
		return nil
	}
	for _, choice := range q.Choice {
		if v == choice || q.Type.Form == Number && near(v, choice) {
			return nil
		}
	}
	return &diag.Diagnostic{
		Code: diag.ChoiceRefused, Span: span,
		Message: fmt.Sprintf("%s can be %s; %s is not among them", q.Name, m.choices(q), m.show(q, v)),
	}
}

func notWhole(q *Quantity, span source.Span) *diag.Diagnostic {
	return &diag.Diagnostic{
		Code: diag.NotWhole, Span: span,
		Message: fmt.Sprintf("%s comes in whole %s only", q.Name, q.Unit.Symbol),
	}
}

// near compares with the tolerance of the language.
func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

// whole reports whether v is whole, with the tolerance of the language.
func whole(v float64) bool { return near(v, math.Round(v)) }

// show writes a value of q for a message.
func (m *Model) show(q *Quantity, v float64) string {
	if kernel.IsBlank(v) {
		return "nothing"
	}
	switch q.Type.Form {
	case Text:
		return fmt.Sprintf("%q", m.Texts[int(v)])
	case Truth:
		if v != 0 {
			return "yes"
		}
		return "no"
	}
	return q.Unit.Format(v, 0)
}

// choices lists the choices of q for a message.
func (m *Model) choices(q *Quantity) string {
	text := ""
	for i, v := range q.Choice {
		switch {
		case i == 0:
		case i == len(q.Choice)-1:
			text += " or "
		default:
			text += ", "
		}
		text += m.show(q, v)
	}
	return text
}
