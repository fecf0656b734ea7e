package unit

import "slices"

// Row is one unit of the catalogue.
type Row struct {
	Symbol  string
	Aliases []string
	// Subject groups rows, as "pressure"; Meaning explains the symbol; Source
	// names the publication of its factor.
	Subject, Meaning, Source string
	// Unit is the meaning of the symbol. If the unit is a dimension of its own
	// (pass, event, money), each System assigns the dimension a place.
	Unit Unit
	// Own says that the unit is a dimension of its own.
	Own bool
	// Asks holds the symbols to choose from if the symbol alone is ambiguous
	// (psi, bar); such a symbol is allowed in compounds only.
	Asks []string
}

// Catalog returns every predefined unit of a System, by subject. The caller may
// keep it.
func Catalog() []Row {
	rows := slices.Clone(catalogue)
	for i := range rows {
		rows[i].Aliases = slices.Clone(rows[i].Aliases)
		rows[i].Asks = slices.Clone(rows[i].Asks)
	}
	return rows
}

// catalogue has all rows; known finds them by symbol and alias.
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
