package generate

import (
	"fmt"
	"strconv"
)

// quantity is what a value measures. The writer uses only those below, whose
// products it knows, so all its formulas have valid dimensions.
type quantity uint8

const (
	ratio quantity = iota
	length
	area
	timing
	speed
	thrust // an acceleration
	mass
	force
	pressureAbsolute
	pressureRelative
	pressurePlain
	heatPoint
	heatStep
	teeth
	turning // turns in a time
	quantities
	truth = quantities
	words = quantities + 1
)

// facts are the writer's data about a quantity.
type facts struct {
	stem   string
	units  []string // the first one writes literals
	low    float64  // span of literals in the first unit
	high   float64
	whole  bool
	point  bool     // absolute: a point on a scale, never added to another
	step   quantity // for a point: its difference
	decent string   // a literal to keep a divisor off zero
}

var factsOf = [quantities]facts{
	ratio:            {stem: "ratio", units: []string{""}, low: -3, high: 12, decent: "1"},
	length:           {stem: "rollout", units: []string{"m", "mm", "ft", "in"}, low: 0.1, high: 9, decent: "1 m"},
	area:             {stem: "area", units: []string{"m2", "cm2", "mm2"}, low: 0.1, high: 4, decent: "1 m2"},
	timing:           {stem: "time", units: []string{"s", "ms"}, low: 0.2, high: 20, decent: "1 s"},
	speed:            {stem: "speed", units: []string{"m/s", "km/h", "mph", "ft/s"}, low: -5, high: 60, decent: "1 m/s"},
	thrust:           {stem: "thrust", units: []string{"m/s2", "ft/s2"}, low: -9, high: 20, decent: "1 m/s2"},
	mass:             {stem: "mass", units: []string{"kg", "lb", "g"}, low: 1, high: 300, decent: "1 kg"},
	force:            {stem: "pull", units: []string{"N", "lbf", "kN"}, low: -40, high: 4000, decent: "1 N"},
	pressureAbsolute: {stem: "ambient", units: []string{"kPa", "psia", "inHg"}, low: 80, high: 300, point: true, step: pressureRelative},
	pressureRelative: {stem: "boost", units: []string{"psig", "kPad"}, low: -5, high: 40, decent: "1 kPad"},
	pressurePlain:    {stem: "stress", units: []string{"Pa", "MPa"}, low: 10, high: 9000, decent: "1 Pa"},
	heatPoint:        {stem: "heat", units: []string{"degC", "degF"}, low: -10, high: 110, point: true, step: heatStep},
	heatStep:         {stem: "warming", units: []string{"deltaC", "deltaF"}, low: -20, high: 60, decent: "1 deltaC"},
	teeth:            {stem: "sprocket", units: []string{"teeth"}, low: 12, high: 50, whole: true, decent: "1 teeth"},
	turning:          {stem: "turning", units: []string{"rpm"}, low: 900, high: 12000, decent: "1 rpm"},
}

func (q quantity) facts() *facts { return &factsOf[q] }

// anyQuantity returns a quantity for a cell, plain numbers more often.
func (w *writer) anyQuantity() quantity {
	if w.chance(3) {
		return ratio
	}
	return quantity(w.rnd.IntN(int(quantities) + 1))
}

// number returns a literal's number within the span of q.
func (w *writer) number(q quantity) float64 {
	f := q.facts()
	v := f.low + w.rnd.Float64()*(f.high-f.low)
	if f.whole {
		return float64(int(v))
	}
	short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 1+w.rnd.IntN(4), 64), 64)
	return short
}

// literal returns a number with its unit as a formula.
func (w *writer) literal(q quantity) formula {
	switch q {
	case truth:
		return formula{choose(w, []string{"yes", "no"}), primary}
	case words:
		return formula{quoted(choose(w, vocabulary)), primary}
	}
	v, unit := w.number(q), q.facts().units[0]
	level := primary
	if unit != "" {
		level = product
	}
	if v < 0 {
		level = sign
	}
	return formula{measured(v, unit), level}
}

// measured writes v with unit after it.
func measured(v float64, unit string) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	if unit == "" {
		return text
	}
	return text + " " + unit
}

// vocabulary is the text values of the invented sheets.
var vocabulary = []string{"methanol", "ethanol", "gasoline", "slick", "Slick", "two words"}

func quoted(text string) string { return fmt.Sprintf("%q", text) }

// given writes a given cell of q with some clauses.
func (w *writer) given(q quantity) {
	name := w.name("given")
	w.scope.add(q, name)
	note := ""
	if w.chance(6) {
		note = "# An invented note\n# in two lines.\n"
	}
	if q == truth {
		w.write("%s%s : %s   # or the other way\n", note, name, w.literal(truth).text)
		return
	}
	v, f := w.number(q), q.facts()
	w.write("%s%s : %s%s\n", note, name, measured(v, f.units[0]), w.clauses(v, q, f))
}

// clauses returns the clauses after a given value.
func (w *writer) clauses(v float64, q quantity, f *facts) string {
	text := ""
	switch w.rnd.IntN(6) {
	case 0:
		text += fmt.Sprintf(" range %s..%s", measured(min(v, f.low), ""), measured(f.high+1, ""))
	case 1:
		text += fmt.Sprintf(" choice %s, %s", measured(v, ""), measured(v+2, ""))
	case 2:
		text += " sd 1"
	case 3:
		text += spread(q)
	case 4:
		text += " +/- 1"
	}
	if f.whole {
		text = ""
	}
	if w.chance(5) {
		text += " \"An invented given\""
	}
	return text
}

// givenText writes a given cell that holds one of the words.
func (w *writer) givenText() {
	name, word := w.name("word"), choose(w, vocabulary)
	w.scope.add(words, name)
	w.write("%s : %s choice %s, %s\n", name, quoted(word), quoted(word), quoted(choose(w, vocabulary)))
}

// computed writes a computed cell of q, sometimes with a shown unit.
func (w *writer) computed(q quantity) {
	name := w.name(stemOf(q))
	text := w.formula(q, 1+w.rnd.IntN(4)).text
	w.scope.add(q, name)
	w.write("%s = %s%s\n", name, text, w.shown(q))
}

func stemOf(q quantity) string {
	switch q {
	case truth:
		return "is"
	case words:
		return "called"
	}
	return q.facts().stem
}

// shown returns an as and a to clause for a computed cell of q, or nothing.
func (w *writer) shown(q quantity) string {
	if q >= quantities || !w.chance(3) {
		return ""
	}
	text := ""
	if unit := choose(w, q.facts().units); unit != "" {
		text = " as " + unit
	}
	if w.chance(2) {
		text += " to 0.1"
	}
	return text
}

// spread returns a tolerance of 2 %, or of two degrees if a percentage would
// depend on the zero of the scale.
func spread(q quantity) string {
	if q == heatPoint {
		return " ± 2 deltaC"
	}
	return " ± 2 %"
}
