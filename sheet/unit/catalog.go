package unit

import "slices"

// Row is one unit of the catalogue.
type Row struct {
	Symbol  string
	Aliases []string
	// Subject groups rows, as "pressure"; Meaning says what the symbol
	// means; Source says where its factor is published.
	Subject, Meaning, Source string
	// Unit is what the symbol means. The dimension of a unit that is one of
	// its own (pass, event, money) is given a place by each System.
	Unit Unit
	// Own says that the unit is a dimension of its own.
	Own bool
	// Asks holds the symbols to choose from where the symbol alone is ambiguous
	// (psi, bar); such a symbol is allowed in compounds only.
	Asks []string
}

// Catalog returns every unit that a System knows from the start, by subject.
// The caller may keep it.
func Catalog() []Row {
	rows := slices.Clone(catalogue)
	for i := range rows {
		rows[i].Aliases = slices.Clone(rows[i].Aliases)
		rows[i].Asks = slices.Clone(rows[i].Asks)
	}
	return rows
}

// catalogue is all rows; known finds them by symbol and alias.
var (
	catalogue = buildCatalogue()
	known     = indexCatalogue(catalogue)
)

func buildCatalogue() []Row {
	var rows []Row
	for _, s := range subjects {
		for _, f := range s.factors {
			rows = append(rows, f.row(s))
		}
	}
	rows = append(rows, pressureRows()...)
	rows = append(rows, ownRows()...)
	return rows
}

func indexCatalogue(rows []Row) map[string]*Row {
	index := map[string]*Row{}
	for i := range rows {
		index[rows[i].Symbol] = &rows[i]
		for _, alias := range rows[i].Aliases {
			index[alias] = &rows[i]
		}
	}
	return index
}
