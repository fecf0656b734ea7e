package syntax

import "gearleaf/sheet/source"

// A sheet of a hundred thousand cells says few things, many times: its lines
// are alike but for the names in them. ParseRepeats reads such a line once. A
// later one becomes a Repeat, which takes a quarter of the room and says where
// the names stand; whoever wants to see the cell has an Expander.
//
// What makes two lines alike is their bytes. A line that may be a Repeat has
// nothing in it that the text around could have a say in: it begins at the
// margin, no comment stands above it, its brackets close, and it has neither
// quotes nor comments.

// Repeat is a computed cell whose line is that of an earlier one, but for the
// names. Only ParseRepeats makes it.
type Repeat struct {
	Lead
	Pattern *Pattern
	// Names are the places of the cell's own name and of those that the
	// formula reads, in order.
	Names []source.Span
}

// Pattern is what lines that repeat one another have in common.
type Pattern struct {
	ID    int // among those of the worksheet
	exprs int // operations and operands of the formula
}

// repeatBytes is how long a text is at least that is looked through for
// repeats.
const repeatBytes = 64 << 10

// Name returns the cell's own name.
func (r *Repeat) Name(f *source.File) string { return f.Slice(r.Names[0]) }

// Expander reads the lines of repeats of one worksheet.
type Expander struct{ p *parser }

// NewExpander returns an Expander for repeats of w.
func NewExpander(w *Worksheet) *Expander {
	p := newParser(w.File)
	p.sheet = &Worksheet{File: w.File}
	return &Expander{p}
}

// Cell returns the cell that r stands for.
func (x *Expander) Cell(r *Repeat) *Cell {
	x.p.pos = int(r.Span.Start)
	return x.p.cell(x.p.begin(), atTop)
}

// Patterns returns how many patterns the repeats of the worksheet have.
func (w *Worksheet) Patterns() int { return w.patterns }

// Repeats returns how many repeats the worksheet has.
func (w *Worksheet) Repeats() int { return w.repeats }

// repeats is what a parser knows of the lines that it has read.
type repeats struct {
	patterns map[string]*Pattern // by the line without its names; nil for lines that make none
	made     int                 // patterns
	tried    int
	found    int
	exprs    int // of all repeats

	// The line in hand.
	key   [keyBytes + 1]byte // it, without its names
	used  int                // bytes of key
	names []source.Span
	end   int // of its last token

	all   slab[Repeat]
	spans slab[source.Span]
}

func newRepeats() *repeats { return &repeats{patterns: map[string]*Pattern{}} }

// count adds to w what the repeats of a part are, whose patterns are numbered
// behind those that w has.
func (r *repeats) count(w *Worksheet) {
	for _, pattern := range r.patterns {
		if pattern != nil {
			pattern.ID += w.patterns
		}
	}
	w.patterns += r.made
	w.repeats += r.found
}

const (
	repeatTrials = 1 << 10 // where fewer than half of so many lines repeat others, the rest is not looked at
	mostPatterns = 1 << 12 // what a parser remembers
)

// worthwhile reports whether to go on looking for repeats.
func (r *repeats) worthwhile() bool {
	return r != nil && (r.tried < repeatTrials || r.found*2 >= r.tried)
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
	pattern := l.patterns[string(l.key[:l.used])]
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
	if _, known := l.patterns[string(l.key[:l.used])]; known || len(l.patterns) == mostPatterns {
		return
	}
	l.patterns[string(l.key[:l.used])] = nil
	c, ok := s.(*Cell)
	if !ok || p.wrong || p.pos != p.lineAfter(l.end) || !p.namesAre(c) || c.Special != noSpecial || c.Remarks != noRemarks {
		return
	}
	if k := c.Clauses; k.Tolerance != nil || k.Deviation != nil || k.Range != nil || len(k.Choice) > 0 || k.Label != nil {
		return
	}
	l.patterns[string(l.key[:l.used])] = &Pattern{ID: l.made, exprs: p.exprs() - before}
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
	l.used, l.names = 0, l.names[:0]
	if class[p.text[at]] != classLower {
		return false
	}
	end, own := p.nameEnd(at)
	if !own || !p.nameInHand(at, end) {
		return false
	}
	return p.at(p.skip(end)) == '=' && p.formulaInHand(end)
}

// nameInHand takes the name from at to end in hand, if a name of the sheet can
// be so.
func (p *parser) nameInHand(at, end int) bool {
	if p.text[at] == '_' || end-at > source.MaxNameBytes {
		return false
	}
	l := p.lines
	l.names = append(l.names, source.Span{Start: int32(at), End: int32(end)})
	l.key[l.used] = 0
	l.used++
	return true
}

// longestWord is the length of the longest word that plays a part in the
// language; none has a digit in it.
const longestWord = 6

// nameEnd returns the end of the word at at. It is a name of the sheet's own
// unless it is a word of the language, or pi.
func (p *parser) nameEnd(at int) (end int, own bool) {
	text := p.text
	end = at + 1
	for end < len(text) && inName[text[end]] {
		end++
	}
	if end-at > longestWord || text[end-1] <= '9' {
		return end, true
	}
	word := text[at:end]
	return end, wordOf(word) == noWord && word != "pi"
}

// The parts that bytes play in a line that may be a repeat.
const (
	ends    = iota // it is none
	stays          // it stays as it is
	opens          // so does this, a bracket
	closes         // and this
	letter         // begins a word
	digit          // begins a number
	newline        // ends the line, maybe
)

var part = func() (table [256]uint8) {
	for _, c := range " \t+-*/^,<>=%" {
		table[c] = stays
	}
	for c := range table {
		switch class[c] {
		case classLower:
			table[c] = letter
		case classDigit:
			table[c] = digit
		}
	}
	table['('], table[')'], table['\n'], table['\r'] = opens, closes, newline, newline
	return table
}()

// keyBytes is how long a line without its names may be.
const keyBytes = 400

// formulaInHand takes in hand what stands from at to the end of the line.
func (p *parser) formulaInHand(at int) bool {
	l, text := p.lines, p.text
	open, last, end := 0, byte(0), at // of the last token
	for ; at < len(text) && l.used < keyBytes; at++ {
		c := text[at]
		switch part[c] {
		case letter:
			if end = p.wordInHand(at); end < 0 {
				return false
			}
			last, at = c, end-1
			continue
		case digit:
			end = p.numberInHand(at)
			l.add(text[at:end])
			last, at = c, end-1
			continue
		case opens:
			open++
		case closes:
			open--
		case newline:
			l.end = end
			return open == 0 && last != ',' && (c == '\n' || p.at(at+1) == '\n')
		case ends:
			return false
		}
		l.key[l.used] = c
		if l.used++; c > ' ' {
			last, end = c, at+1
		}
	}
	l.end = end
	return at == len(text) && l.used < keyBytes && open == 0 && last != ','
}

// add adds a short text to the key, as much as there is room for.
func (l *repeats) add(text string) {
	for i := 0; i < len(text) && l.used < len(l.key); i++ {
		l.key[l.used] = text[i]
		l.used++
	}
}

// wordInHand takes the word at at in hand: a name of the sheet, or one of the
// language or the library, which is part of the pattern. It returns the end,
// -1 for a word that is neither.
func (p *parser) wordInHand(at int) int {
	l := p.lines
	end, own := p.nameEnd(at)
	c := p.at(end)
	if c == ' ' || c == '\t' {
		c = p.at(p.skip(end + 1))
	} else if c == '.' || class[c] == classUpper || class[c] == classForeign {
		return -1
	}
	if own && c != '(' && p.nameInHand(at, end) {
		return end
	}
	if !own && wordOf(p.text[at:end]) == wordAs {
		end = p.unitInHand(p.skip(end))
	}
	l.add(p.text[at:end])
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
