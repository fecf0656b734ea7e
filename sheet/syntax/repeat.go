package syntax

import "gearleaf/sheet/source"

// A sheet of a hundred thousand cells says few things, many times: its lines
// are alike but for the names in them. ParseRepeats reads such a line once. A
// later one becomes a Repeat, a tenth of a tree and a tenth of the work, which
// says what the names are; whoever wants to see the cell asks Expand.
//
// What makes two lines alike is their bytes. A line that may be a Repeat has
// nothing in it that the text around could have a say in: it begins at the
// margin, no comment stands above it, its brackets close, and it has neither
// quotes nor comments.

// Repeat is a computed cell whose line is that of Pattern.First, but for the
// names. Only ParseRepeats makes it.
type Repeat struct {
	Lead
	Pattern *Pattern
	// Names are the places of the cell's own name and of those that the
	// formula reads, in order.
	Names []source.Span
}

// Pattern is what repeated lines have in common.
type Pattern struct {
	ID    int   // among those of the worksheet
	First *Cell // the first of them, which is no Repeat

	exprs int // operations and operands of its formula
}

// repeatBytes is how long a text is at least that is looked through for
// repeats.
const repeatBytes = 64 << 10

// Name returns the cell's own name.
func (r *Repeat) Name(f *source.File) string { return f.Slice(r.Names[0]) }

// Expand returns the cell that r stands for.
func (w *Worksheet) Expand(r *Repeat) *Cell {
	p := newParser(w.File)
	p.sheet = &Worksheet{File: w.File}
	p.pos = int(r.Span.Start)
	return p.cell(p.begin(), atTop)
}

// Patterns returns how many patterns the repeats of the worksheet have.
func (w *Worksheet) Patterns() int { return w.patterns }

// repeats is what a parser knows of the lines that it has read.
type repeats struct {
	patterns map[string]*Pattern // by the line without its names; nil for lines that make none
	made     int                 // patterns
	tried    int
	found    int
	exprs    int // of all repeats

	// The line in hand.
	key   []byte
	names []source.Span
	end   int // of its text

	all   slab[Repeat]
	spans slab[source.Span]
}

func newRepeats() *repeats { return &repeats{patterns: map[string]*Pattern{}} }

// patterns returns how many patterns the parser has made.
func (p *parser) patterns() int {
	if p.lines == nil {
		return 0
	}
	return p.lines.made
}

// number moves the numbers of the patterns up by base.
func (r *repeats) number(base int) {
	for _, pattern := range r.patterns {
		if pattern != nil {
			pattern.ID += base
		}
	}
}

// Where fewer than half of the first lines repeat others, the rest is not
// looked at.
const (
	repeatTrials = 1 << 10
	mostPatterns = 1 << 12
)

// worthwhile reports whether to go on looking for repeats.
func (r *repeats) worthwhile() bool {
	return r != nil && (r.tried < repeatTrials || r.found*2 >= r.tried) && len(r.patterns) < mostPatterns
}

// repeatable reports whether the line at p.pos may be a repeat, and takes it
// in hand.
func (p *parser) repeatable() bool {
	if !p.lines.worthwhile() || p.indented || len(p.above) > 0 || !p.lineInHand(p.pos) {
		return false
	}
	p.lines.tried++
	return true
}

// repeat returns the line in hand as a Repeat, or nil.
func (p *parser) repeat() Stmt {
	l := p.lines
	pattern := l.patterns[string(l.key)]
	if pattern == nil {
		return nil
	}
	l.found++
	l.exprs += pattern.exprs
	r := l.all.one()
	r.Pattern, r.Names = pattern, l.spans.list(l.names)
	r.Span = source.Span{Start: int32(p.pos), End: int32(l.end)}
	r.Remarks = noRemarks
	p.ahead, p.badBlock, p.unfinished = false, false, false
	p.loose = p.loose[:0]
	p.pos = p.lineAfter(l.end)
	return r
}

// learn makes the line in hand, which has become s, a pattern, if others can
// be told from it.
func (p *parser) learn(s Stmt, before int) {
	l := p.lines
	if _, known := l.patterns[string(l.key)]; known {
		return
	}
	l.patterns[string(l.key)] = nil
	c, ok := s.(*Cell)
	if !ok || p.wrong || p.pos != p.lineAfter(l.end) || !p.namesAre(c) || c.Special != noSpecial || c.Remarks != noRemarks {
		return
	}
	if k := c.Clauses; k.Tolerance != nil || k.Deviation != nil || k.Range != nil || len(k.Choice) > 0 || k.Label != nil {
		return
	}
	l.patterns[string(l.key)] = &Pattern{ID: l.made, First: c, exprs: p.exprs() - before}
	l.made++
}

// namesAre reports whether the names of the line in hand are those that c is
// called and reads, in this order, and there is nothing else that names
// anything.
func (p *parser) namesAre(c *Cell) bool {
	names := p.lines.names
	if c.Given || c.Name.Span != names[0] {
		return false
	}
	n, ok := 1, true
	Walk(c.Formula, func(e Expr) bool {
		switch e := e.(type) {
		case *Ref:
			if e.Name.Text == "pi" {
				break
			}
			ok = ok && n < len(names) && e.Name.Span == names[n]
			n++
		case *Column, *Index, *Text, *Empty, *BadExpr:
			ok = false
		}
		return ok
	})
	return ok && n == len(names)
}

// lineInHand takes the line at at in hand, if it is `name = formula` and
// nothing around it has a say in it.
func (p *parser) lineInHand(at int) bool {
	l := p.lines
	l.key, l.names = l.key[:0], l.names[:0]
	if class[p.text[at]] != classLower {
		return false
	}
	at = p.nameInHand(at)
	return at > 0 && p.at(p.skip(at)) == '=' && p.formulaInHand(at)
}

// nameInHand takes the name at at in hand and returns its end, -1 if a name of
// the sheet cannot be so.
func (p *parser) nameInHand(at int) int {
	l := p.lines
	end := p.nameEnd(at)
	switch name := p.text[at:end]; {
	case p.text[at] == '_' || len(name) > source.MaxNameBytes || wordOf(name) != noWord || name == "pi":
		return -1
	}
	l.names = append(l.names, source.Span{Start: int32(at), End: int32(end)})
	l.key = append(l.key, 0)
	return end
}

func (p *parser) nameEnd(at int) int {
	for at < len(p.text) && inName[p.text[at]] {
		at++
	}
	return at
}

// formulaInHand takes in hand what stands from at to the end of the line.
func (p *parser) formulaInHand(at int) bool {
	l := p.lines
	open, last := 0, byte(0)
	for at < len(p.text) {
		c := p.text[at]
		end := at + 1
		switch {
		case c == '\n' || c == '\r' && p.at(end) == '\n':
			l.end = at
			return open == 0 && last != ','
		case class[c] == classLower:
			if end = p.wordInHand(at); end < 0 {
				return false
			}
		case class[c] == classDigit:
			end = p.numberInHand(at)
			l.key = append(l.key, p.text[at:end]...)
		case inFormula[c]:
			l.key = append(l.key, c)
			switch c {
			case '(':
				open++
			case ')':
				open--
			}
		default:
			return false
		}
		if class[c] != classBlank {
			last = c
		}
		at = end
	}
	l.end = at
	return open == 0 && last != ','
}

// inFormula tells the bytes, besides letters and digits, that a repeat may
// have in it.
var inFormula = [256]bool{
	' ': true, '\t': true, '+': true, '-': true, '*': true, '/': true, '^': true, '(': true, ')': true, ',': true,
	'<': true, '>': true, '=': true, '%': true,
}

// wordInHand takes the word at at in hand: a name of the sheet, or one of the
// language or the library, which is part of the pattern. It returns the end,
// -1 for a word that is neither.
func (p *parser) wordInHand(at int) int {
	end := p.nameEnd(at)
	switch c := p.at(end); {
	case c == '.' || class[c] == classUpper || class[c] == classForeign:
		return -1
	case wordOf(p.text[at:end]) == wordAs:
		end = p.unitInHand(p.skip(end))
	case p.at(p.skip(end)) != '(':
		if name := p.nameInHand(at); name > 0 {
			return name
		}
	}
	p.lines.key = append(p.lines.key, p.text[at:end]...)
	return end
}

// numberInHand returns the end of the number at at and the unit behind it.
func (p *parser) numberInHand(at int) int {
	end := numberEnd(p.text, at)
	unit := p.skip(end)
	if p.unitStarts(unit) && !p.stopWord(unit) {
		return p.unitInHand(unit)
	}
	return end
}

// unitInHand returns the end of the unit at at, and of what stands behind it
// without a blank.
func (p *parser) unitInHand(at int) int {
	for at < len(p.text) && p.text[at] > ' ' && p.text[at] != ',' && p.text[at] != ')' && p.text[at] != '"' && p.text[at] != '#' {
		at++
	}
	return at
}
