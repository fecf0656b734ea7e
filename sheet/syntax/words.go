package syntax

import "slices"

// Words are the words of the language by their roles, for syntax colouring and
// completion.
type Words struct {
	Statements []string // that begin a statement
	Reserved   []string // that no cell can be called
	Clauses    []string // that follow a value or a table's name; names elsewhere
	Body       []string // that begin a line of a function
}

// AllWords returns the words of the language. The caller may keep them.
func AllWords() Words {
	return Words{
		Statements: slices.Clone(statementWords),
		Reserved:   slices.Clone(reservedWords),
		Clauses:    append(slices.Clone(clauseWords[:3:3]), "start", "rows", "until", "from", "x", "y"),
		Body:       []string{"source", "valid", "example"},
	}
}

// reservedWords are the words that cannot name a cell.
var reservedWords = []string{"and", "or", "not", "if", "then", "else", "as", "to", "prev", "next", "row", "yes", "no"}

// IsReserved reports whether name is a reserved word.
func IsReserved(name string) bool { w := wordOf(name); return w != noWord && w <= lastReserved }
