// Package syntax reads worksheet text into a tree and writes trees as text.
//
// Parse is tolerant: it reports all errors of a text and returns a tree of
// everything that could be read.
package syntax

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// Parse reads the worksheet f. The tree is never nil: parts that could not be
// read are Bad or BadExpr in it, and the list contains the reasons.
func Parse(f *source.File) (*Worksheet, diag.List) {
	p := newParser(f)
	p.sheet = &Worksheet{File: f}
	if !p.admit() {
		return p.sheet, p.list
	}
	p.sheet.Stmts = make([]Stmt, 0, min(f.Lines(), 1<<20))
	p.statements()
	p.sheet.exprs = p.exprs()
	return p.sheet, p.list
}

// ParseExpr reads text as one formula.
func ParseExpr(text string) (Expr, diag.List) {
	p := newParser(source.New("formula", text))
	p.next()
	e := p.formula()
	p.expectEnd()
	return e, p.list
}

// ParseQuantity reads text as one given value: a number with or without a
// unit, a quoted text, yes or no. A bare word is a text.
func ParseQuantity(text string) (Expr, diag.List) {
	p := newParser(source.New("value", text))
	if p.beginsWord() {
		return p.bareWords(), p.list
	}
	p.next()
	e := p.literal()
	p.commaInNumber()
	p.expectEnd()
	return e, p.list
}

// beginsWord reports whether a word begins the text that is not yes or no.
func (p *parser) beginsWord() bool {
	at := p.skip(0)
	switch class[p.at(at)] {
	case classLower, classUpper:
		text := strings.TrimSpace(p.text)
		return text != "yes" && text != "no"
	case classForeign:
		return p.letterAt(at)
	}
	return false
}

// parser is the state of reading one text. The current token is tok; nothing
// after it has been read yet, because units, which have their own rules about
// blanks, are read directly from the text.
type parser struct {
	file *source.File
	text string
	pos  int   // the first byte that is not read
	tok  token // the current token
	last int32 // end of the token before it

	brackets                      int     // that are open
	open                          []int32 // where they are, the first few hundred
	inTable, inFunction, inParams bool

	list   diag.List
	errors int // in all, including those not listed
	// wrong is set once the statement has an error, failed once its rest is
	// skipped.
	wrong, failed bool

	sheet    *Worksheet
	above    []Comment // the block of comments directly above the next line
	loose    []Comment // comments since the last statement that belong to none
	ahead    bool      // line has found the next line already
	indented bool      // it begins with a blank
	// unfinished is set if a formula is incomplete at the end of a line.
	unfinished bool
	badBlock   bool // the last statement was Bad: lines below it that begin with a blank are its own

	depth, operators int // of the formula
	literals         int // values of givens
	scratch          []Expr
	ops              []Op
	fields           []source.Span

	slabs
}

// slabs holds the slabs of the nodes that sheets are made of.
type slabs struct {
	numbers  slab[Number]
	units    slab[UnitRef]
	texts    slab[Text]
	truths   slab[Truth]
	empties  slab[Empty]
	refs     slab[Ref]
	columns  slab[Column]
	calls    slab[Call]
	unaries  slab[Unary]
	binaries slab[Binary]
	chains   slab[Chain]
	ifs      slab[If]
	parens   slab[Paren]
	cells    slab[Cell]
	clauses  slab[Clauses]
	strs     slab[Str]
	ranges   slab[Range]
	remarks  slab[Remarks]
	comments slab[Comment]
	lists    slab[Expr]
	opLists  slab[Op]
}

// exprs returns the number of operations and operands in the formulas read so
// far.
func (p *parser) exprs() int {
	return p.numbers.used() + p.texts.used() + p.truths.used() + p.refs.used() + p.columns.used() + p.calls.used() +
		p.unaries.used() + p.binaries.used() + p.chains.used() + p.ifs.used() - p.literals
}

// Shared values of statements that have none of their own.
var (
	noRemarks = &Remarks{}
	noSpecial = &Special{}
	noClauses = &Clauses{}
)

func newParser(f *source.File) *parser {
	p := &parser{file: f, text: f.Text}
	if len(p.text) >= len(bom) && p.text[:len(bom)] == bom {
		p.pos = len(bom)
	}
	return p
}

// bom is the byte order mark that some editors put before UTF-8 text.
const bom = "\ufeff"
