package syntax

import (
	"runtime"
	"strings"
	"sync"

	"gearleaf/sheet/source"
)

// A large text is parsed in parts side by side. A part begins with a cell at
// the margin right below another one: there nothing is under way, no block, no
// formula that goes on, no comment that belongs to what follows. Where any
// part has an error, the text is parsed anew as a whole, so that what is said
// about it does not depend on the parts.

// partBytes is how much text is worth a part of its own, and mostParts how
// many parts there are at most.
const (
	partBytes = 256 << 10
	mostParts = 8
)

// parts returns in how many parts to parse a text.
func parts(text string) int { return min(runtime.GOMAXPROCS(0), len(text)/partBytes, mostParts) }

// inParts parses f in n parts; nil where there are no places to part it at, or
// where it has errors. Where repeats are looked for, the whole may be a part.
func inParts(f *source.File, n int, repeats bool) *Worksheet {
	starts := partStarts(f.Text, n)
	if len(starts) == 0 && !repeats {
		return nil
	}
	room := make([]Stmt, f.Lines())
	parsers := make([]*parser, len(starts)+1)
	var all sync.WaitGroup
	for i := range parsers {
		from, to := 0, len(f.Text)
		if i > 0 {
			from = starts[i-1]
		}
		if i < len(starts) {
			to = starts[i]
		}
		p := newPart(f, from, to, room)
		if repeats {
			p.lines = newRepeats()
		}
		parsers[i] = p
		all.Go(p.statements)
	}
	all.Wait()
	return joined(f, parsers, room)
}

// newPart returns a parser of the text between two bytes. Its statements go
// into their place in room, which has one for every line.
func newPart(f *source.File, from, to int, room []Stmt) *parser {
	p := newParser(f)
	p.text = f.Text[:to]
	p.pos = max(p.pos, from)
	first, last := f.LineOf(int32(from)), f.LineOf(int32(to))
	if to == len(f.Text) {
		last = len(room)
	}
	p.sheet = &Worksheet{File: f, Stmts: room[first:first:last]}
	return p
}

// joined returns the parts as one tree, nil where one has an error.
func joined(f *source.File, parts []*parser, room []Stmt) *Worksheet {
	w := &Worksheet{File: f, Stmts: room[:0]}
	for _, p := range parts {
		if len(p.list) > 0 {
			return nil
		}
		w.Stmts = append(w.Stmts, p.sheet.Stmts...)
		w.Tail = append(w.Tail, p.sheet.Tail...)
		w.exprs += p.exprs()
		if p.lines != nil {
			p.lines.count(w)
		}
	}
	clear(w.Stmts[len(w.Stmts):cap(w.Stmts)])
	return w
}

// partStarts returns where all parts but the first begin, for n parts of about
// the same length.
func partStarts(text string, n int) []int {
	var starts []int
	for i := 1; i < n; i++ {
		from := len(text) / n * i
		if len(starts) > 0 {
			from = max(from, starts[len(starts)-1]+1)
		}
		at := partStart(text, from)
		if at < 0 {
			break
		}
		starts = append(starts, at)
	}
	return starts
}

// partStart returns the first place behind from where a part can begin, -1 for
// none.
func partStart(text string, from int) int {
	before := false // the line before is a cell at the margin
	for from < len(text) {
		n := strings.IndexByte(text[from:], '\n')
		if n < 0 {
			return -1
		}
		from += n + 1
		cell := cellAt(text, from)
		if cell && before {
			return from
		}
		before = cell
	}
	return -1
}

// cellAt reports whether `name :` or `name =` stands at i.
func cellAt(text string, i int) bool {
	if i >= len(text) || class[text[i]] != classLower {
		return false
	}
	for i < len(text) && inName[text[i]] {
		i++
	}
	for i < len(text) && class[text[i]] == classBlank {
		i++
	}
	return i < len(text) && (text[i] == ':' || text[i] == '=')
}
