package page

import (
	"regexp"
	"slices"
	"strings"
	"sync"

	"gearleaf/sheet/unit"
)

// compounds are the compound units that a crew commonly types; simple units are
// in the catalogue.
var compounds = []string{
	"lb/h", "lb/min", "kg/h", "kg/min", "g/s", "kg/s", "cc/min", "L/h", "L/min", "galUS/h", "galUS/min", "m3/s", "ft3/min",
	"km/h", "m/s", "ft/s", "ft/min", "m/min", "m/s2", "ft/s2", "kg/m3", "g/cc", "kg/L", "lb/ft3", "lb/galUS",
	"lb/(hp.h)", "g/(kW.h)", "hp/(lb/min)", "lbf.ft", "lbf.in", "N.m", "N/mm", "N/m", "lbf/in", "kg.m2", "kg/m", "lb/ft", "gr/lb", "g/kg",
	"kJ/kg", "MJ/kg", "BTU/lb", "J/(kg.K)", "kJ/(kg.K)", "W/m2", "turn/s", "rpm/s", "1/s", "1/m", "1/K", "1/deltaC", "s2/m2", "mm/turn",
	"ms/V", "g/m3", "in2", "mm2", "cm2", "m2", "ft2", "in3", "mm3", "m3",
}

// symbols are all the units that a page may read.
var symbols = sync.OnceValue(func() []string {
	var out []string
	for _, row := range unit.Catalog() {
		if row.Own || row.Asks != nil {
			continue
		}
		out = append(append(out, row.Symbol), row.Aliases...)
	}
	return append(out, compounds...)
})

// mostReads is the number of units for typing a given in a compound one: each
// takes some ten bytes of the page.
const mostReads = 10

// reads returns the units, besides u itself, that a value of u's measure can be
// typed in. Both ways of writing one unit are among them.
func reads(system *unit.System, u unit.Unit) []readData {
	out := []readData{}
	seen := map[string]bool{u.Symbol: true}
	for _, symbol := range slices.Concat(symbols(), shapes(system, u)) {
		v, err := system.Parse(symbol)
		if err != nil || seen[symbol] || unit.Meets(v.Measure, u.Measure) != "" {
			continue
		}
		if dimensionless := u.Measure.Dimensionless(); dimensionless && u.Symbol == "" && symbol != "%" {
			continue
		}
		if isCompound(u.Symbol) && len(out) == mostReads {
			break
		}
		seen[symbol] = true
		out = append(out, readData{symbol, v.Scale, v.Offset})
	}
	slices.SortStableFunc(out, func(a, b readData) int { return len(a.Symbol) - len(b.Symbol) })
	return out
}

func isCompound(symbol string) bool { return strings.ContainsAny(symbol, "./(") }

// factor is a symbol in a compound unit, without its exponent.
var factor = regexp.MustCompile(`[A-Za-z%_]+`)

// shapes returns units with the form of a compound one: with one of its factors
// in another unit, m/s2 as ft/s2.
func shapes(system *unit.System, u unit.Unit) []string {
	if !isCompound(u.Symbol) {
		return nil
	}
	var out []string
	for _, at := range factor.FindAllStringIndex(u.Symbol, -1) {
		for _, other := range alike(system, u.Symbol[at[0]:at[1]]) {
			out = append(out, u.Symbol[:at[0]]+other+u.Symbol[at[1]:])
		}
	}
	return out
}

// alike returns the symbols of the kind of a symbol, without aliases; for a
// drop in pressure, kPad, those of drops.
func alike(system *unit.System, symbol string) []string {
	u, err := system.Parse(symbol)
	if err != nil {
		return nil
	}
	var out []string
	for _, row := range unit.Catalog() {
		v, err := system.Parse(row.Symbol)
		if row.Own || row.Asks != nil || err != nil || v.Measure != u.Measure || row.Symbol == symbol {
			continue
		}
		if end := symbol[len(symbol)-1:]; u.Measure.Kind != unit.Relative || !strings.Contains("dg", end) || strings.HasSuffix(row.Symbol, end) {
			out = append(out, row.Symbol)
		}
	}
	return out
}
