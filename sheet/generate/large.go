package generate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
)

// layer is the number of cells in a layer of a Layered sheet.
const layer = 1000

// Layered returns a large worksheet of plain numbers in layers: each computed
// cell reads two or three of the layer before. Every value stays finite.
func Layered(cells int, seed uint64) string {
	rnd := rand.New(rand.NewPCG(seed, 0x1a7e9))
	width := max(min(layer, cells/10), 1)
	var text strings.Builder
	text.Grow(cells * 36)
	text.WriteString("title \"Invented sheet in layers\"\n")
	for i := range cells {
		name := "c" + strconv.Itoa(i)
		if i < width {
			fmt.Fprintf(&text, "%s : %s\n", name, strconv.FormatFloat(float64(rnd.IntN(2000)+1)/100, 'g', -1, 64))
			continue
		}
		before := i/width*width - width
		pick := func() string { return "c" + strconv.Itoa(before+rnd.IntN(width)) }
		text.WriteString(name + " = " + layeredFormula(rnd, pick) + "\n")
	}
	return text.String()
}

// layeredFormula returns a short formula whose value is about as large as its
// operands.
func layeredFormula(rnd *rand.Rand, pick func() string) string {
	a, b := pick(), pick()
	switch rnd.IntN(9) {
	case 0:
		return fmt.Sprintf("0.25 * %s + 0.75 * %s", a, b)
	case 1:
		return fmt.Sprintf("if %s > %s then %s - %s else %s", a, b, a, b, pick())
	case 2:
		return fmt.Sprintf("%s * %s / (abs(%s) + abs(%s) + 1)", a, b, a, b)
	case 3:
		return fmt.Sprintf("min(%s, %s) + 1.5", a, b)
	case 4:
		return fmt.Sprintf("sqrt(abs(%s * %s))", a, b)
	case 5:
		return fmt.Sprintf("max(%s, %s) / 1.25", a, b)
	case 6:
		return fmt.Sprintf("(%s + %s) / 2", a, b)
	case 7:
		return fmt.Sprintf("abs(%s)^0.5 + %s / 2", a, b)
	}
	return fmt.Sprintf("%s - %s * 0.5 + 0.125", a, b)
}

// Various returns a large worksheet of plain numbers in eight layers, no two
// of whose lines have the same form and numbers. Every value stays finite.
func Various(cells int, seed uint64) string {
	rnd := rand.New(rand.NewPCG(seed, 0x7a21))
	width := max(1, cells/8)
	var text strings.Builder
	text.Grow(cells * 52)
	text.WriteString("title \"Invented sheet of various lines\"\n")
	for i := range cells {
		text.WriteString("c" + strconv.Itoa(i))
		if i < width {
			fmt.Fprintf(&text, " : %.4g\n", 0.01+20*rnd.Float64())
			continue
		}
		before := i/width*width - width
		pick := func() string { return "c" + strconv.Itoa(before+rnd.IntN(width)) }
		text.WriteString(" = ")
		terms := 1 + rnd.IntN(2)
		for k := range terms {
			if k > 0 {
				text.WriteString([]string{" + ", " - "}[rnd.IntN(2)])
			}
			fmt.Fprintf(&text, "%.3f * %s", (0.5+rnd.Float64()/2)/float64(terms), variousTerm(rnd, pick))
		}
		fmt.Fprintf(&text, " + %.2f\n", 5*rnd.Float64())
	}
	return text.String()
}

// variousTerm returns a term about as large as its operands.
func variousTerm(rnd *rand.Rand, pick func() string) string {
	k := strconv.FormatFloat(0.1+math.Round(900*rnd.Float64())/100, 'g', -1, 64)
	switch rnd.IntN(9) {
	case 0:
		return fmt.Sprintf("min(%s, %s, %s)", pick(), pick(), k)
	case 1:
		return fmt.Sprintf("max(%s, %s / %s)", pick(), pick(), k)
	case 2:
		return fmt.Sprintf("sqrt(abs(%s * %s))", pick(), pick())
	case 3:
		return fmt.Sprintf("(if %s > %s then %s else %s)", pick(), k, pick(), pick())
	case 4:
		return fmt.Sprintf("%s * %s / (abs(%s) + %s)", pick(), k, pick(), k)
	case 5:
		return fmt.Sprintf("abs(%s)^0.75", pick())
	case 6:
		return fmt.Sprintf("(%s - %s)", pick(), pick())
	}
	return pick()
}

// StepTable returns a pass down a track in the given number of steps, written
// with plain arithmetic: twelve columns, two look-ups a row, and a condition
// that ends it in its last tenth.
func StepTable(rows int) string {
	end := 0.95 * float64(rows)
	return fmt.Sprintf(stepTable, rows, measured(end, ""))
}

const stepTable = `title "Invented pass, step by step"

step_time   : 2 ms
mass_all    : 340 kg
drag_area   : 0.4 m2
air_density : 1.15 kg/m3
rollout     : 2040 mm
shift_speed : 10600 rpm
grip        : 24 m/s2

table dyno
  at     : 3000, 5000, 7000, 8500, 9500, 10100, 10600, 12000 rpm
  torque : 180, 220, 270, 300, 312, 316, 300, 210 N.m

table gears
  gear  : 1, 2, 3, 4, 5, 6
  ratio : 8.81, 7.08, 5.94, 5.09, 4.52, 4.10

table run rows %d until step_count >= %s
  step_count   = prev(step_count) + 1                                     start 1
  time         = prev(time) + step_time                                   start 0 s
  gear         = if prev(engine_speed) >= shift_speed then min(prev(gear) + 1, 6) else prev(gear)   start 1
  speed        = prev(speed) + prev(accel) * step_time                    start 1 m/s
  distance     = prev(distance) + prev(speed) * step_time                 start 0 m
  overall      = lookup(gear, gears.gear, gears.ratio)
  engine_speed = max(speed * overall / rollout * 1 turn, 5000 rpm)        start 5000 rpm
  pull         = lookup_clamped(engine_speed, dyno.at, dyno.torque) * overall * 6.2832 / rollout
  drag         = 0.5 * air_density * drag_area * speed^2
  accel        = min((pull * 0.9 - drag) / mass_all, grip)                start 0 m/s2
  power        = drag * speed
  energy       = prev(energy) + prev(power) * step_time                   start 0 J

time_all  = last(run.time)
way_all   = last(run.distance)
top_speed = max(run.speed) as km/h
heat      = last(run.energy) as kJ
`
