package unit

import (
	"math"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// TestRowsAreWhole checks that every row has a meaning and a source, and that
// its symbol parses as itself.
func TestRowsAreWhole(t *testing.T) {
	for _, row := range Catalog() {
		if row.Symbol == "" || row.Subject == "" || row.Meaning == "" || row.Source == "" {
			t.Errorf("%+v has an empty field", row)
		}
		if row.Unit.Symbol != row.Symbol || !row.Unit.sound() {
			t.Errorf("%s is %v", row.Symbol, row.Unit)
		}
		s := NewSystem()
		if row.Asks != nil {
			if _, err := s.Parse(row.Symbol); err == nil || err.Code != CodeAmbiguous {
				t.Errorf("%s: %v, want the question it asks", row.Symbol, err)
			}
			continue
		}
		if u := parse(t, s, row.Symbol); u != row.Unit {
			t.Errorf("%s reads as %v, want %v", row.Symbol, u, row.Unit)
		}
		for _, alias := range row.Aliases {
			if u := parse(t, s, alias); !u.like(row.Unit) || u.Symbol != alias {
				t.Errorf("%s reads as %v, want %v", alias, u, row.Unit)
			}
		}
	}
}

// TestNoSymbolIsAmbiguous checks that no symbol or alias occurs twice, that
// none reads as a power of another, and that none could be a number.
func TestNoSymbolIsAmbiguous(t *testing.T) {
	seen := map[string]string{}
	for _, row := range Catalog() {
		for _, symbol := range append([]string{row.Symbol}, row.Aliases...) {
			if other, twice := seen[symbol]; twice {
				t.Errorf("%s is %s and %s", symbol, other, row.Meaning)
			}
			seen[symbol] = row.Meaning
		}
	}
	for symbol := range seen {
		stem := strings.TrimRight(symbol, "0123456789")
		if _, other := seen[stem]; other && stem != symbol {
			t.Errorf("%s is also a power of %s", symbol, stem)
		}
		if symbol != "1" && isDigit(symbol[0]) {
			t.Errorf("%s begins with a digit", symbol)
		}
		for i := range len(symbol) {
			if !isWord(symbol[i]) || symbol[i] >= 0x80 {
				t.Errorf("%s cannot be written in a compound", symbol)
			}
		}
	}
}

// TestSpellings checks that every spelling from elsewhere leads to units, and
// can be met: not all its ways to be written are units.
func TestSpellings(t *testing.T) {
	symbols := map[string]bool{}
	for _, row := range Catalog() {
		symbols[row.Symbol] = true
	}
	for spelling, meant := range spellings {
		if len(meant) == 0 {
			t.Errorf("%s means nothing", spelling)
		}
		if spelling != strings.ToLower(spelling) {
			t.Errorf("%s is not in small letters", spelling)
		}
		if symbols[spelling] && symbols[strings.ToUpper(spelling)] {
			t.Errorf("%s is a unit in small letters and in capitals", spelling)
		}
		for _, text := range meant {
			if _, err := NewSystem().Parse(text); err != nil && err.Code != CodeAmbiguous {
				t.Errorf("%s: %s is not a unit: %s", spelling, text, err.Message)
			}
		}
	}
}

func TestCatalogIsACopy(t *testing.T) {
	rows := Catalog()
	for i := range rows {
		rows[i].Unit.Scale = 0
		for j := range rows[i].Aliases {
			rows[i].Aliases[j] = ""
		}
	}
	if u := parse(t, NewSystem(), "passes"); u.Scale != 1 {
		t.Errorf("passes is %v", u)
	}
	if again := Catalog(); slices.Contains(again[slices.IndexFunc(again, func(r Row) bool { return r.Symbol == "pass" })].Aliases, "") {
		t.Error("the catalogue can be written to")
	}
}

// TestPressureForms checks that every pressure has its gauge and drop forms,
// of the same size.
func TestPressureForms(t *testing.T) {
	s := NewSystem()
	for _, p := range pressureScales {
		for _, form := range []string{"g", "d"} {
			if u := parse(t, s, p.stem+form); u.Measure.Kind != Relative || u.Scale != p.scale {
				t.Errorf("%s%s is %v", p.stem, form, u)
			}
		}
		if p.absolute != "" {
			if u := parse(t, s, p.absolute); u.Measure.Kind != Absolute || u.Scale != p.scale {
				t.Errorf("%s is %v", p.absolute, u)
			}
		}
	}
}

// others is how GNU units writes the symbols that it writes differently.
var others = map[string]string{
	"um": "micron", "thou": "mil", "lb": "lb", "oz": "oz", "gr": "grain", "t": "tonne",
	"us": "microsecond", "h": "hour", "kn": "knot", "gn": "gravity", "sqin": "in^2", "sqft": "ft^2",
	"galUS": "usgallon", "qtUS": "usquart", "ptUS": "uspint", "floz": "usfloz", "galUK": "brgallon", "ptUK": "brpint",
	"Wh": "W hour", "kWh": "kW hour", "Btu": "btu_IT", "PS": "metrichorsepower", "turn": "turn",
	"rad": "radian", "deg": "degree", "%": "percent", "vol%": "percent", "mass%": "percent", "degR": "degR", "deltaC": "K", "deltaF": "degF",
	"degC": "tempC", "degF": "tempF", "Ah": "A hour", "mAh": "mA hour", "kohm": "kiloohm",
}

// gnuName returns what row is called in GNU units, "" if it knows no such
// unit: passes, events, teeth, links, and money, whose rates it guesses.
func gnuName(row Row) string {
	if other, ok := others[row.Symbol]; ok {
		return other
	}
	switch row.Subject {
	case "count", "money", "teeth", "links":
		return ""
	case "pressure":
		for _, p := range pressureScales {
			if strings.TrimRight(row.Symbol, "agd") == strings.TrimRight(p.stem, "agd") {
				return p.stem
			}
		}
	}
	return row.Symbol
}

// gnuBase returns the coherent unit of row for GNU units, where a turn is no
// base unit.
func gnuBase(row Row) string {
	switch {
	case row.Unit.Measure.Counts[Turn].Num != 0 && row.Unit.Measure.Dim[Time].Num < 0:
		return "turn/s"
	case row.Unit.Measure.Counts[Turn].Num != 0:
		return "turn"
	}
	base := NewSystem().Compose(row.Unit.Measure)
	return strings.NewReplacer(".", " ", "2", "^2", "3", "^3").Replace(base)
}

// TestAgainstGNUUnits converts a value of every row that GNU units knows to
// coherent SI by both.
func TestAgainstGNUUnits(t *testing.T) {
	path, err := exec.LookPath("units")
	if err != nil {
		outside.Missing(t, "GNU units is not installed")
	}
	const v = 12.5
	var rows []Row
	var input strings.Builder
	for _, row := range Catalog() {
		name := gnuName(row)
		if name == "" {
			continue
		}
		have := strconv.FormatFloat(v, 'g', -1, 64) + " (" + name + ")"
		if strings.HasPrefix(name, "temp") {
			have = name + "(" + strconv.FormatFloat(v, 'g', -1, 64) + ")"
		}
		rows = append(rows, row)
		input.WriteString(have + "\n" + gnuBase(row) + "\n")
	}
	command := exec.Command(path, "-t", "-d", "15")
	command.Stdin = strings.NewReader(input.String())
	command.Env = append(os.Environ(), "LC_ALL=C")
	output, err := command.Output()
	lines := strings.Fields(string(output))
	if len(lines) != len(rows) || len(rows) < 90 {
		t.Fatalf("%d rows, %d answers, %v:\n%s", len(rows), len(lines), err, output)
	}
	for i, row := range rows {
		want, err := strconv.ParseFloat(lines[i], 64)
		if got := row.Unit.SI(v); err != nil || math.Abs(got/want-1) > 2e-14 {
			t.Errorf("%v %s is %v in SI, %s by GNU units as %s", v, row.Symbol, got, lines[i], gnuName(row))
		}
	}
}

// TestCurrencies checks the list of money: 168 codes in order, each of three
// capitals, and some that came or went of late.
func TestCurrencies(t *testing.T) {
	var codes []string
	for _, row := range Catalog() {
		if row.Subject == "money" {
			codes = append(codes, row.Symbol)
		}
	}
	if len(codes) != 168 || !slices.IsSorted(codes) {
		t.Errorf("%d codes, sorted: %v", len(codes), slices.IsSorted(codes))
	}
	for _, code := range codes {
		if len(code) != 3 || strings.Trim(code, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
			t.Errorf("%q is no code", code)
		}
	}
	for _, code := range []string{"USD", "EUR", "GBP", "JPY", "XCG", "ZWG", "SLE", "VED"} {
		if !slices.Contains(codes, code) {
			t.Errorf("%s is missing", code)
		}
	}
	for _, code := range []string{"DEM", "HRK", "SLL", "ZWL", "ANG", "BGN", "XAU", "XTS", "XXX"} {
		if slices.Contains(codes, code) {
			t.Errorf("%s is no money in use", code)
		}
	}
}
