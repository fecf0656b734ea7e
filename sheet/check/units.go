package check

import (
	"gearleaf/sheet/diag"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// unitWork is a unit declaration that waits for the unit it is a multiple of.
type unitWork struct {
	file int
	decl *syntax.UnitDecl
}

// declareUnits processes the units that the files declare before any unit is
// used: the place of a declaration does not matter.
func (c *checker) declareUnits() {
	var waiting []unitWork
	first := map[string]unitWork{}
	for i, f := range c.in.Files {
		for _, s := range f.Tree.Stmts {
			decl, ok := s.(*syntax.UnitDecl)
			if !ok {
				continue
			}
			c.file = f.Tree.File
			w := unitWork{i, decl}
			if before, twice := first[decl.Name.Text]; twice {
				c.unitTwice(before, decl)
				continue
			}
			first[decl.Name.Text] = w
			if decl.Value != nil {
				waiting = append(waiting, w)
			} else if err := c.m.Units.Declare(decl.Name.Text, nil); err != nil {
				c.place(badUnit(err, decl.Name.Span))
			}
		}
	}
	c.declareMultiples(waiting)
}

// unitTwice refuses a second, different declaration of a unit.
func (c *checker) unitTwice(before unitWork, decl *syntax.UnitDecl) {
	a, b := before.decl.Value, decl.Value
	if a == nil && b == nil || a != nil && b != nil && syntax.String(a) == syntax.String(b) {
		return
	}
	c.fail(decl.Name.Span, diag.NameDuplicate, "the unit %s is declared twice, differently", decl.Name.Text).
		related(c.in.Files[before.file].Tree.File, before.decl.Name.Span, "the first %s", decl.Name.Text)
}

// declareMultiples declares multiples of other units. One may be above the unit
// that it is a multiple of, so it repeats until nothing changes.
func (c *checker) declareMultiples(waiting []unitWork) {
	for again := true; again; {
		again = false
		kept := waiting[:0]
		for _, w := range waiting {
			if c.declareMultiple(w) {
				again = true
			} else {
				kept = append(kept, w)
			}
		}
		waiting = kept
	}
	for _, w := range waiting {
		c.file = c.in.Files[w.file].Tree.File
		if n := w.decl.Value; n.Unit != nil {
			if _, err := c.m.Units.Parse(n.Unit.Text); err != nil {
				c.place(badUnit(err, n.Unit.Span))
			}
		}
	}
}

// declareMultiple declares `unit furlong = 220 yd`. It reports whether the
// declaration is done.
func (c *checker) declareMultiple(w unitWork) bool {
	n := w.decl.Value
	base := unit.Unit{Scale: 1}
	if n.Unit != nil {
		u, err := c.m.Units.Parse(n.Unit.Text)
		if err != nil {
			return false
		}
		base = u
	}
	c.file = c.in.Files[w.file].Tree.File
	u, ok := base.Times(n.Value)
	if !ok {
		c.fail(n.Span, diag.UnitSyntax, "a unit cannot be %s", syntax.String(n)).
			help("a unit is a positive multiple of another; of a point on a scale, such as degC, only 1")
		return true
	}
	u.Symbol = w.decl.Name.Text
	if err := c.m.Units.Declare(w.decl.Name.Text, &u); err != nil {
		c.place(badUnit(err, w.decl.Name.Span))
	}
	return true
}
