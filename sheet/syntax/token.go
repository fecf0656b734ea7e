package syntax

import "gearleaf/sheet/source"

// kind is the kind of a token.
type kind uint8

const (
	tokEnd    kind = iota // of the statement's line, or of the text
	tokName               // a name or a reserved word
	tokNumber             // with its unit, if one directly follows
	tokText
	tokPlus
	tokMinus
	tokStar
	tokSlash
	tokCaret
	tokOpen       // (
	tokClose      // )
	tokOpenIndex  // [
	tokCloseIndex // ]
	tokComma
	tokColon
	tokDot
	tokRange // ..
	tokEqual
	tokNotEqual
	tokLess
	tokLessEqual
	tokGreater
	tokGreaterEqual
	tokTolerance // ± or +/-
	tokBar       // |
	tokJunk      // a character that has no place here; an error has been reported
	tokNothing   // a refused character that counts as a blank
)

var kindText = [...]string{
	tokEnd: "the end of the line", tokPlus: "+", tokMinus: "-", tokStar: "*", tokSlash: "/", tokCaret: "^",
	tokOpen: "(", tokClose: ")", tokOpenIndex: "[", tokCloseIndex: "]", tokComma: ",", tokColon: ":", tokDot: ".",
	tokRange: "..", tokEqual: "=", tokNotEqual: "<>", tokLess: "<", tokLessEqual: "<=", tokGreater: ">",
	tokGreaterEqual: ">=", tokTolerance: "±", tokBar: "|", tokJunk: "a strange character",
}

// token is one piece of the text.
type token struct {
	kind  kind
	word  word // of a name
	blank bool // a blank is before it
	span  source.Span
	// value is a number's; digits is the end of the number without its
	// unit, and unit is the unit's text, refused spellings repaired.
	value    float64
	digits   int32
	unitSpan source.Span
	unit     string
	// text is a name, or a text with its quotes undone.
	text string
}

// word is a name with a role in the grammar.
type word uint8

const (
	noWord word = iota
	// Reserved words.
	wordAnd
	wordOr
	wordNot
	wordIf
	wordThen
	wordElse
	wordAs
	wordTo
	wordPrev
	wordNext
	wordRow
	wordYes
	wordNo
	lastReserved = wordNo
	// Words of clauses: names elsewhere.
	wordRange = iota
	wordChoice
	wordSd
	wordStart
	wordRows
	wordUntil
	wordFrom
	wordX
	wordY
)

// wordOf returns the role of name.
func wordOf(name string) word {
	switch name {
	case "and":
		return wordAnd
	case "or":
		return wordOr
	case "not":
		return wordNot
	case "if":
		return wordIf
	case "then":
		return wordThen
	case "else":
		return wordElse
	case "as":
		return wordAs
	case "to":
		return wordTo
	case "prev":
		return wordPrev
	case "next":
		return wordNext
	case "row":
		return wordRow
	case "yes":
		return wordYes
	case "no":
		return wordNo
	}
	return clauseWord(name)
}

func clauseWord(name string) word {
	switch name {
	case "range":
		return wordRange
	case "choice":
		return wordChoice
	case "sd":
		return wordSd
	case "start":
		return wordStart
	case "rows":
		return wordRows
	case "until":
		return wordUntil
	case "from":
		return wordFrom
	case "x":
		return wordX
	case "y":
		return wordY
	}
	return noWord
}

// clauseWords are the words that begin a clause after a value.
var clauseWords = []string{"range", "choice", "sd", "as", "to", "start"}

// statementWords are the words that begin a statement.
var statementWords = []string{
	"title", "caution", "note", "section", "table", "limit", "advise", "chart", "correlate", "log", "function", "unit", "use", "gearleaf",
}

// opOf returns the operator of a token of kind k.
func opOf(k kind) Op {
	switch k {
	case tokPlus:
		return Add
	case tokMinus:
		return Sub
	case tokStar:
		return Mul
	case tokSlash:
		return Div
	case tokLess:
		return Less
	case tokLessEqual:
		return LessEqual
	case tokGreater:
		return Greater
	case tokGreaterEqual:
		return GreaterEqual
	case tokEqual:
		return Equal
	case tokNotEqual:
		return NotEqual
	}
	return NoOp
}
