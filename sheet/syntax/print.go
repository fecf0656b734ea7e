package syntax

import (
	"slices"
	"sort"
	"strings"

	"github.com/rivo/uniseg"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// Print returns the formatted text of w: names, values, clauses and labels of
// adjacent lines in columns, a grid's bars aligned. Only blanks change. Order,
// comments and line breaks stay, runs of blank lines become one (two before a
// section), and lines with errors stay unchanged. Formatting a formatted text
// changes nothing.
func Print(w *Worksheet) string {
	once := layOut(w)
	if len(w.broken) == 0 {
		return once
	}
	return settled(w.File, once)
}

// maxLayouts is the number of times that a text with errors is formatted until it
// stays unchanged.
const maxLayouts = 8

// settled formats text, the layout of file, until it stays unchanged. Blanks may
// be part of an error, so a text with errors may be read differently when the
// lines around them move. If the text does not settle, or then has other errors,
// the original is kept.
func settled(file *source.File, text string) string {
	_, errors := Parse(file)
	for range maxLayouts {
		w, list := Parse(source.New(file.Name, text))
		if !slices.EqualFunc(errors, list, sameCode) {
			break
		}
		again := layOut(w)
		if again == text {
			return text
		}
		text = again
	}
	return file.Text
}

func sameCode(a, b diag.Diagnostic) bool { return a.Code == b.Code }

// layOut formats the text of w once.
func layOut(w *Worksheet) string {
	text := w.File.Text
	if len(w.broken) == 1 && w.broken[0] == (source.Span{Start: 0, End: int32(len(text))}) && len(w.Stmts) == 1 {
		return text // one bad line, or no text at all
	}
	if strayReturn(text) {
		return text // formatted, the return would become a line end
	}
	p := printer{file: w.File, text: text, writer: writer{text}}
	p.collect(w)
	p.arrange()
	return p.write()
}

// strayReturn reports whether text contains a carriage return that does not end
// a line.
func strayReturn(text string) bool {
	for {
		i := strings.IndexByte(text, '\r')
		if i < 0 {
			return false
		}
		if !strings.HasPrefix(text[i+1:], "\n") {
			return true
		}
		text = text[i+1:]
	}
}

// printer formats one worksheet: collect makes a row of every line, arrange
// assigns columns to the segments of rows, write joins them.
type printer struct {
	writer
	file *source.File
	text string
	rows []row
	segs []segment // of all rows
	// stops are the columns that several lines together keep.
	stops   map[int]bool
	broken  []source.Span // lines with errors
	b       strings.Builder
	at      int32 // the end of the text written so far
	written bool  // a line has been written
}

// row is one line, or several that belong together.
type row struct {
	span      source.Span
	indent    int
	group     group
	first, n  int // its segments
	raw       bool
	trailing  *Comment
	gapped    bool // a blank line is above
	sectional bool // a section line
}

// group is a kind of rows that line up with each other.
type group uint8

const (
	noGroup group = iota
	cellGroup
	textGroup
	limitGroup
	bodyGroup
	gridGroup
)

// The slots of a row, in the order in which they follow each other.
const (
	slotHead    = iota // name or word
	slotValue          // : value ± q, = formula, what follows a word
	slotStart          // start v, or the first clause; a limit's message
	slotRange          // range, choice, or the second clause
	slotAs             // as, to, a table's until, or the third clause
	slotLabel          // "label"
	slotComment        // # comment
)

// segment is a piece of a row that has a column.
type segment struct {
	slot   int
	text   string
	span   source.Span
	place  int32 // where it begins in the source, a sign before span included
	lines  bool  // it goes over several lines and stays unchanged
	indent int   // of text within the segment, for a value after its sign
	gap    int   // blanks before it, at least
	column int
	width  int // of its last line
}

// width returns the number of columns of text.
func width(text string) int {
	for i := range len(text) {
		if text[i] >= 0x80 {
			return uniseg.StringWidth(text)
		}
	}
	return len(text)
}

// columnOf returns the column of offset in the source.
func (p *printer) columnOf(offset int32) int {
	start := p.lineStart(offset)
	before := p.text[start:offset]
	if !strings.Contains(before, "\t") {
		return width(before)
	}
	column := 0
	for part := range strings.SplitAfterSeq(before, "\t") {
		column += width(strings.TrimSuffix(part, "\t"))
		if strings.HasSuffix(part, "\t") {
			column = column/8*8 + 8
		}
	}
	return column
}

// lineStart returns the first byte of the line that holds offset, the mark
// in front of UTF-8 text left out.
func (p *printer) lineStart(offset int32) int32 {
	start := int32(strings.LastIndexByte(p.text[:offset], '\n') + 1)
	if start == 0 && strings.HasPrefix(p.text, bom) && offset >= int32(len(bom)) {
		start = int32(len(bom))
	}
	return start
}

// lineEnd returns the end of the line that holds offset, without its line end.
func (p *printer) lineEnd(offset int32) int32 {
	n := strings.IndexByte(p.text[offset:], '\n')
	if n < 0 {
		return int32(len(p.text))
	}
	end := offset + int32(n)
	if end > offset && p.text[end-1] == '\r' {
		end--
	}
	return end
}

// collect makes the rows of w, in the order of the text.
func (p *printer) collect(w *Worksheet) {
	p.rows = make([]row, 0, w.File.Lines())
	p.segs = make([]segment, 0, 3*w.File.Lines())
	p.broken = append(p.broken, w.broken...)
	sort.SliceStable(p.broken, func(i, j int) bool { return p.broken[i].Start < p.broken[j].Start })
	for _, s := range w.Stmts {
		p.statement(s)
	}
	if len(p.broken) > 0 {
		for _, span := range p.broken {
			p.rows = append(p.rows, row{span: span, raw: true, indent: min(1, p.columnOf(span.Start))})
		}
		sort.SliceStable(p.rows, func(i, j int) bool { return p.rows[i].span.Start < p.rows[j].span.Start })
	}
	for i := 1; i < len(p.rows); i++ {
		p.rows[i].gapped = p.blankAbove(p.rows[i].span.Start, p.rows[i-1].span.End)
	}
}

// isBroken reports whether the line that holds place has an error. The end of
// the line is included: missing parts have their place there.
func (p *printer) isBroken(place int32) bool {
	i := sort.Search(len(p.broken), func(i int) bool { return p.broken[i].End >= place })
	return i < len(p.broken) && p.broken[i].Start <= place
}

// blankAbove reports whether a blank line is between end and start.
func (p *printer) blankAbove(start, end int32) bool {
	lines := strings.Split(p.text[p.lineEnd(end):p.lineStart(start)], "\n")
	for _, line := range lines[1:max(1, len(lines)-1)] {
		if strings.TrimSpace(line) == "" {
			return true
		}
	}
	return false
}

// write joins the rows and the text between them.
func (p *printer) write() string {
	if strings.HasPrefix(p.text, bom) {
		p.b.WriteString(bom)
		p.at = int32(len(bom))
	}
	p.b.Grow(len(p.text) + len(p.text)/8)
	block := false
	for i := range p.rows {
		r := &p.rows[i]
		start := p.lineStart(r.span.Start)
		p.between(p.text[p.at:max(p.at, start)], r, block)
		p.row(r)
		block = r.indent > 0 || p.opensBlock(i)
		p.at = p.lineEnd(r.span.End)
		if int(p.at) < len(p.text) {
			p.at += int32(strings.IndexByte(p.text[p.at:], '\n') + 1)
		}
	}
	p.between(p.text[p.at:], nil, block)
	out := p.b.String()
	if i := strings.IndexByte(p.text, '\n'); i > 0 && p.text[i-1] == '\r' {
		out = strings.ReplaceAll(out, "\n", "\r\n")
	}
	return out
}

// blockWords begin the statements that have lines of their own below them.
var blockWords = []string{"table", "function", "log"}

// opensBlock reports whether the row at i may have lines below it that belong
// to it.
func (p *printer) opensBlock(i int) bool {
	r := &p.rows[i]
	if r.raw {
		return true
	}
	word := p.text[r.span.Start:r.span.End]
	return r.group == noGroup && slices.ContainsFunc(blockWords, func(begins string) bool { return strings.HasPrefix(word, begins) })
}

// between writes the comments and blank lines above r, or those at the end if r
// is nil. block says that the row above belongs to a block: comments that begin
// with a blank stay with it.
func (p *printer) between(gap string, r *row, block bool) {
	most := 1
	if r != nil && r.sectional {
		most = 2
	}
	blanks := 0
	for line := range strings.Lines(gap) {
		text := strings.TrimRight(strings.TrimLeft(line, " \t"), " \t\r\n")
		if text == "" {
			blanks++
			continue
		}
		p.blankLines(min(blanks, most))
		blanks = 0
		block = block && class[line[0]] == classBlank
		if r != nil && r.indent > 0 || block {
			p.b.WriteString("  ")
		}
		p.b.WriteString(text)
		p.b.WriteByte('\n')
		p.written = true
	}
	if r != nil {
		p.blankLines(min(blanks, most))
	}
}

// blankLines writes n blank lines, none at the top of the text.
func (p *printer) blankLines(n int) {
	if p.written {
		p.b.WriteString("\n\n"[:n])
	}
}

// row writes r.
func (p *printer) row(r *row) {
	p.written = true
	if r.raw {
		for line := range strings.Lines(p.text[p.lineStart(r.span.Start):p.lineEnd(r.span.End)]) {
			p.b.WriteString(strings.TrimRight(line, "\r\n"))
			p.b.WriteByte('\n')
		}
		return
	}
	column := 0
	for i := range p.segs[r.first : r.first+r.n] {
		s := &p.segs[r.first+i]
		p.pad(s.column - column)
		if s.lines {
			p.severalLines(r, s)
		} else {
			p.b.WriteString(s.text)
		}
		column = s.column + s.width
	}
	p.b.WriteByte('\n')
}

const blanks = "                                                                "

func (p *printer) pad(n int) {
	for ; n > len(blanks); n -= len(blanks) {
		p.b.WriteString(blanks)
	}
	p.b.WriteString(blanks[:max(0, n)])
}

// severalLines writes a segment of several lines. Their layout is the
// author's; all of them move with the first.
func (p *printer) severalLines(r *row, s *segment) {
	p.b.WriteString(s.text)
	shift := s.column + s.indent - p.columnOf(s.span.Start)
	offset := s.span.Start
	first := true
	for line := range strings.Lines(p.text[s.span.Start:s.span.End]) {
		text := strings.TrimRight(line, " \t\r\n")
		if !first {
			p.b.WriteByte('\n')
			trimmed := strings.TrimLeft(text, " \t")
			if trimmed != "" {
				p.pad(p.shifted(r, offset+int32(len(text)-len(trimmed)), shift))
			}
			text = trimmed
		}
		p.b.WriteString(text)
		offset += int32(len(line))
		first = false
	}
}

// shifted returns the column of a further line of a segment, whose first
// character is at offset.
func (p *printer) shifted(r *row, offset int32, shift int) int {
	return max(r.indent+2, p.columnOf(offset)+shift)
}
