package unit

import "strings"

// pressureScale is one scale of pressure. It defines the unit itself and its
// relative forms, with g (gauge) and d (a difference) after the stem.
type pressureScale struct {
	stem, meaning string
	scale         float64
	source        string
	// absolute is the unit of points on the scale; "" if it has none.
	absolute, aliases string
	// asks says that the stem alone is ambiguous; otherwise the stem is the
	// absolute unit or a plain one.
	asks bool
}

// Columns of mercury and water are the conventional ones, of 13 595.1 and
// 1000 kg/m3 under standard gravity.
const (
	mercury = 13595.1 * gravity // Pa a metre
	water   = 1000 * gravity    // Pa a metre
	columns = "exact, conventional: NIST SP 811 (2008) App. B.8"
)

var pressureScales = []pressureScale{
	{"Pa", "pascal", 1, siSource, "", "", false},
	{"hPa", "hectopascal", 1e2, siSource, "hPa", "", false},
	{"kPa", "kilopascal", 1e3, siSource, "kPa", "kPaa", false},
	{"MPa", "megapascal", 1e6, siSource, "", "", false},
	{"GPa", "gigapascal", 1e9, siSource, "", "", false},
	{"bar", "bar", 1e5, sp811, "bara", "", true},
	{"mbar", "millibar", 1e2, sp811, "mbar", "mbara", false},
	{"psi", "pound-force a square inch", lbf / (inch * inch), "lbf/in2 with the exact factors of " + sp811, "psia", "", true},
	{"inHg", "inch of mercury", mercury * inch, columns, "inHg", "inHga", false},
	{"mmHg", "millimetre of mercury", mercury * 1e-3, columns, "mmHg", "", false},
	{"torr", "torr", 101325.0 / 760, sp811, "torr", "", false},
	{"atm", "standard atmosphere", 101325, sp811, "atm", "", false},
	{"inH2O", "inch of water", water * inch, columns, "", "", true},
	{"mmH2O", "millimetre of water", water * 1e-3, columns, "", "", true},
}

// pressureRows returns the rows of all forms of all scales.
func pressureRows() []Row {
	var rows []Row
	for _, p := range pressureScales {
		if p.absolute != p.stem {
			rows = append(rows, p.stemRow())
		}
		if p.absolute != "" {
			row := p.row(p.absolute, p.meaning+", absolute", Absolute)
			row.Aliases = strings.Fields(p.aliases)
			rows = append(rows, row)
		}
		rows = append(rows,
			p.row(p.stem+"g", p.meaning+", gauge: above ambient", Relative),
			p.row(p.stem+"d", p.meaning+", a difference or drop", Relative))
	}
	return rows
}

// stemRow returns the row of the stem alone, which is plain.
func (p pressureScale) stemRow() Row {
	row := p.row(p.stem, p.meaning, Plain)
	if p.asks {
		row.Meaning += ", in compounds only: alone it does not say which pressure"
		row.Asks = []string{p.stem + "g", p.stem + "d"}
		if p.absolute != "" {
			row.Asks = []string{p.stem + "g", p.absolute, p.stem + "d"}
		}
	}
	return row
}

func (p pressureScale) row(symbol, meaning string, kind Kind) Row {
	return Row{
		Symbol: symbol, Subject: "pressure", Meaning: meaning, Source: p.source,
		Unit: Unit{Symbol: symbol, Scale: p.scale, Measure: Measure{Dim: pressureDim, Kind: kind}},
	}
}
