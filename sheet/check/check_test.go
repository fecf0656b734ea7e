package check_test

import (
	"strings"
	"sync"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// library is the formula library, parsed once.
var library = sync.OnceValue(func() check.Library { return check.ReadLibrary(formulas.Files(), formulas.Intrinsics()) })

// parse reads one worksheet.
func parse(text string) (*syntax.Worksheet, diag.List) {
	return syntax.Parse(source.New("sheet.leaf", text))
}

// sheet checks one worksheet.
func sheet(t testing.TB, text string) (*check.Model, diag.List) {
	t.Helper()
	tree, list := parse(text)
	if list.Errors() {
		t.Fatalf("parse: %+v", list)
	}
	return check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library()})
}

func TestCharter(t *testing.T) {
	_, list := sheet(t, charter)
	for _, d := range list {
		t.Errorf("%s %s %v", d.Code, d.Message, d.File.Position(d.Span.Start))
	}
}

const charter = `title   "Test mule, eighth mile"
caution "Figures are a plan. The rule book, the tyre's rating and the maker's limits come first."

section "Final drive"

front_sprocket : 17 teeth   range 15..19                      "Countershaft sprocket"
rear_sprocket  : 41 teeth   choice 38, 40, 41, 42, 44         "Rear sprocket, in the van"
primary_ratio  : 1.55
tyre_rollout   : 2085 mm ± 6 mm                               "Rear tyre, one turn, loaded"
shift_speed    : 11200 rpm  range 9000..11800

final_ratio    = rear_sprocket / front_sprocket

section "Speed in each gear"

table gears
  gear    : 1, 2, 3, 4, 5, 6
  ratio   : 2.50, 1.90, 1.55, 1.30, 1.15, 1.05
  overall = primary_ratio * ratio * final_ratio
  speed   = road_speed(shift_speed, overall, tyre_rollout)    as mph to 0.1   "Speed at the shift"
  drop_to = shift_speed * next(ratio) / ratio                 as rpm to 10    "After the shift"

top_speed = last(gears.speed)                                 as mph to 0.1

limit  top_speed <= 190 mph      "The tyre is not rated for this speed"
advise 10500 rpm <= shift_speed  "Below the power peak"

chart  "Speed in each gear"  x gears.gear  y gears.speed
`

func TestLibrary(t *testing.T) {
	lib := library()
	m, list := check.CheckLibrary(lib)
	for _, d := range list {
		t.Errorf("%s:%v %s: %s", d.File.Name, d.File.Position(d.Span.Start), d.Code, d.Message)
	}
	if len(m.Instances) < 100 {
		t.Errorf("%d instances checked: too few for a library", len(m.Instances))
	}
}

// TestLibraryIsSound refuses a library with an error: it is part of the program.
func TestLibraryIsSound(t *testing.T) {
	defer func() {
		if got := recover(); got == nil || !strings.HasPrefix(got.(string), "check: bad.leaf: ") {
			t.Errorf("a library with an error: %v", got)
		}
	}()
	check.ReadLibrary([]*source.File{source.New("bad.leaf", "a = (\n")}, nil)
}
