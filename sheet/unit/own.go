package unit

import "strings"

// ownRows returns the rows of dimensions that a sheet adds as its own on
// first use: passes, events and every currency.
func ownRows() []Row {
	rows := []Row{
		ownRow("pass", "one pass down the track", "count", definition),
		ownRow("event", "one event", "count", definition),
	}
	rows[0].Aliases = []string{"passes"}
	rows[1].Aliases = []string{"events"}
	for _, line := range strings.Split(strings.TrimSpace(currencies), "\n") {
		code, name, _ := strings.Cut(line, " ")
		rows = append(rows, ownRow(code, name, "money", "ISO 4217 list one; money is never converted"))
	}
	return rows
}

func ownRow(symbol, meaning, subject, source string) Row {
	row := Row{Symbol: symbol, Subject: subject, Meaning: meaning, Source: source, Own: true}
	row.Unit = Unit{Symbol: symbol, Scale: 1}
	row.Unit.Measure.Dim[Slot0] = Exponent{Num: 1}
	return row
}
