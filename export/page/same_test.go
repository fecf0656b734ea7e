package page_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/outside"
)

// need returns the path of an outside program; without it the test is skipped,
// or fails where everything is required.
func need(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		outside.Missing(t, name+" is not installed")
	}
	return path
}

// Expected values of a page, as testdata/compare.mjs reads them: numbers by
// their bits.
type (
	expected struct {
		Before  values   `json:"before"`
		Changes []change `json:"changes"`
	}
	change struct {
		Set   [][2]string `json:"set"`
		After values      `json:"after"`
	}
	values struct {
		Cells   [][]any     `json:"cells"`
		Columns [][]any     `json:"columns"`
		Limits  [][2]string `json:"limits"`
	}
)

// written writes s as a page into folder and what its values are to be beside
// it, for so many changes made by chance, and returns the path without ending.
func written(t *testing.T, folder, name string, s *sheet.Sheet, changes int, texts bool) string {
	t.Helper()
	random := rand.New(rand.NewPCG(uint64(len(name)), uint64(len(s.Model.Cells))))
	return writtenWith(t, folder, name, s, texts, func(want *expected) {
		for range changes {
			if c, ok := changed(t, s, random, texts); ok {
				want.Changes = append(want.Changes, c)
			}
		}
	})
}

// writtenWith is written with the changes that add adds.
func writtenWith(t *testing.T, folder, name string, s *sheet.Sheet, texts bool, add func(*expected)) string {
	t.Helper()
	r, err := s.Compute()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	format, _ := export.ByExtension("x.html")
	var page bytes.Buffer
	if _, err := format.Write(&page, s, r, export.Options{}); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	want := expected{Before: valuesOf(s, r, texts)}
	add(&want)
	path := filepath.Join(folder, name)
	data, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	for ending, content := range map[string][]byte{".html": page.Bytes(), ".json": data} {
		if err := os.WriteFile(path+ending, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return path
}

// changed changes one to three givens of s by chance.
func changed(t *testing.T, s *sheet.Sheet, random *rand.Rand, texts bool) (change, bool) {
	t.Helper()
	var c change
	var settings []sheet.Setting
	places := givens(s)
	if len(places) == 0 {
		return c, false
	}
	for range 1 + random.IntN(3) {
		p := places[random.IntN(len(places))]
		text := typed(s, p, random)
		set, d := s.ParseSetting(p.Name() + "=" + text)
		if d != nil {
			continue
		}
		settings = append(settings, set)
		c.Set = append(c.Set, [2]string{p.Name(), text})
	}
	if len(settings) == 0 {
		return c, false
	}
	done, err := s.Change(settings)
	if err != nil {
		t.Fatal(err)
	}
	c.After = valuesOf(s, done.After, texts)
	return c, true
}

// givens returns what can be set.
func givens(s *sheet.Sheet) []sheet.Place {
	var out []sheet.Place
	for _, p := range s.Names() {
		q := p.Quantity()
		switch {
		case !q.Given:
		case p.Cell != nil:
			out = append(out, p)
		default:
			for row := range p.Column.Values {
				out = append(out, sheet.Place{Column: p.Column, Row: row})
			}
		}
	}
	return out
}

// typed returns a value for p as somebody might type it.
func typed(s *sheet.Sheet, p sheet.Place, random *rand.Rand) string {
	q := p.Quantity()
	switch {
	case len(q.Choice) > 0:
		v := q.Choice[random.IntN(len(q.Choice))]
		if q.Type.Form == check.Text {
			return strconv.Quote(s.Model.Texts[int(v)])
		}
		return strconv.FormatFloat(q.Unit.Clean(v), 'f', -1, 64)
	case q.Type.Form == check.Truth:
		return [...]string{"yes", "no"}[random.IntN(2)]
	case q.Type.Form == check.Text:
		return `"typed on the page"`
	case q.Whole:
		return strconv.Itoa(1 + random.IntN(60))
	case random.IntN(8) == 0:
		return [...]string{"0", "-1", "1e6", "0.001", "1e300"}[random.IntN(5)]
	}
	old := p.Column == nil
	base := 1.0
	if old {
		base = p.Cell.Value
	} else {
		base = p.Column.Values[p.Row]
	}
	if base != base {
		base = 1
	}
	v := q.Unit.Shown(base) * (0.5 + random.Float64())
	return strconv.FormatFloat(v, 'f', random.IntN(5), 64)
}

// valuesOf returns every value of a result as compare.mjs takes it.
func valuesOf(s *sheet.Sheet, r *sheet.Result, texts bool) values {
	out := values{Cells: [][]any{}, Columns: [][]any{}, Limits: [][2]string{}}
	for _, p := range s.Names() {
		if p.Cell != nil {
			v := r.Cell(p.Cell)
			text := ""
			if !v.IsFault() {
				text = s.Text(&p.Cell.Quantity, v.V)
			}
			out.Cells = append(out.Cells, []any{p.Name(), flight(s, p, v), text})
			continue
		}
		live, _ := r.Live(p.Column.Table)
		rows, shown := make([]string, live), make([]string, live)
		for row := range live {
			v := r.Entry(p.Column, row)
			rows[row] = flight(s, p, v)
			if texts && !v.IsFault() {
				shown[row], _ = s.Shown(&p.Column.Quantity, v.V)
			}
		}
		column := []any{p.Name(), rows}
		if texts {
			column = append(column, shown)
		}
		out.Columns = append(out.Columns, column)
	}
	for _, l := range s.Model.Limits {
		state, _ := r.Limit(l)
		out.Limits = append(out.Limits, [2]string{state.String(), sides(r, l)})
	}
	return out
}

// flight writes a value: the bits of a number, a text or a logical value as JSON, a
// blank, or a fault with its words.
func flight(s *sheet.Sheet, p sheet.Place, v sheet.Value) string {
	q := p.Quantity()
	switch {
	case v.IsFault():
		f := v.Fault()
		if f.WaitsOn != "" {
			return "fault waits on " + f.Origin + ": " + f.Cause
		}
		return "fault " + f.Cause
	case v.IsBlank():
		return "blank"
	case q.Type.Form == check.Truth:
		return strconv.FormatBool(v.V != 0)
	case q.Type.Form == check.Text:
		var text bytes.Buffer
		e := json.NewEncoder(&text)
		e.SetEscapeHTML(false) // JSON.stringify does not either
		_ = e.Encode(s.Model.Texts[int(v.V)])
		return strings.TrimSuffix(text.String(), "\n")
	}
	return fmt.Sprintf("%016x", math.Float64bits(v.V))
}

// sides is a limit's condition with numbers, as the page words it.
func sides(r *sheet.Result, l *check.Limit) string {
	state, row := r.Limit(l)
	text := l.Text
	switch {
	case state == sheet.Waiting:
		if f := r.LimitFault(l); f != nil {
			return text + "; waits on " + sheet.OriginOf(f)
		}
		return text
	case l.Table != nil && state == sheet.Kept:
		return text + ", in every row"
	case l.Table != nil && row >= 0:
		text += fmt.Sprintf(", row %d", row+1)
	}
	return text + ": " + r.LimitNumbers(l, row)
}

// templates returns the paths of the ready worksheets.
func templates(t *testing.T) []string {
	t.Helper()
	paths, err := filepath.Glob("../../templates/*.leaf")
	if err != nil || len(paths) == 0 {
		t.Fatal("no template was found")
	}
	return paths
}

// pages writes the pages that the campaigns compare: every template and so
// many generated sheets.
func pages(t *testing.T, generated, changes int) []string {
	t.Helper()
	folder := t.TempDir()
	var out []string
	for _, path := range templates(t) {
		s, list := sheet.Load(path)
		if s == nil {
			t.Fatal(list)
		}
		name := strings.TrimSuffix(filepath.Base(path), ".leaf")
		out = append(out, written(t, folder, name, s, changes, !strings.Contains(name, "mile")))
	}
	for name, text := range closeCalls {
		s, list := sheet.FromText(name+".leaf", text)
		if s == nil {
			t.Fatal(list)
		}
		out = append(out, written(t, folder, name, s, changes, true))
	}
	for seed := range generated {
		text := generate.Worksheet(generate.Everything(uint64(seed)+1, 20+seed%40))
		s, list := sheet.FromText("generated.leaf", text)
		if s == nil {
			t.Fatalf("seed %d: %v", seed, list)
		}
		out = append(out, written(t, folder, fmt.Sprintf("generated-%d", seed), s, changes, true))
	}
	return slices.Clip(out)
}

// closeCalls are sheets whose limits need more digits than are shown, entries of
// columns whose row is a cell's, and a fault of every kind.
var closeCalls = map[string]string{
	"close-calls": `share : 0.2948971 %  to 1 %
point : 20.0000001 degC  to 0.1
speed : 190.0000004 mph  as km/h
best : 2
table gears
  gear : 1, 2, 3
  ratio : 2.50000004, 1.9, -1.5000000001
top = speed * 1.0000000001
limit share <= 0 %
limit 0.2 % >= share
limit point <= 20 degC
limit 10 degC < point < 20 degC
limit top <= speed "Above the tyre's rating"
limit top <= 190 mph
limit gears.ratio <= 2.5
limit gears.ratio[best] > 1.9000001
limit gears.ratio[best] > gears.ratio[1]
limit max(gears.ratio) < 2.50000001
limit sum(gears.ratio) > 2.9
limit mean(gears.ratio) < 0.96666668
limit count(gears.ratio) > 3
limit floor(top / speed) = best
limit gcd(best, 6) = 1
limit best = 2
limit min(gears.ratio) > -1.5
limit if best > 1 then (top < speed) else share > 1 %
`,
	"exact-ties": `one : 1
half = one * 2.5  to 1
less = one * -2.5  to 1
eighth = one * 0.125  to 0.01
hundred = one * 1.005  to 0.01
noise = one * 0.3 - 0.175  to 0.01
quarter = one * 0.375  to 0.25
tens = one * 25 rpm  as rpm to 10
share = one * 4.35 %  as % to 0.1
speed = one * 8.345 mph  as mph to 0.01
`,
	"faults": `zero : 0
big : 1e300
half : 0.5
two : 2
minus : -3
blank_row : 3
word : "b" choice "a", "b", "c"
table points
  x : 1, 1, 1
  y : 2, 3, 4
  back : 1, 3, 2
table pair
  x : 1, 2
  y : 3, 5
table parts
  u : 1, 2
  freedom : 9, 0
table names
  name : "a", "c"
  v : 1, 2
table log
  | t | v  | empty |
  | 1 | 10 |       |
  | 2 | 20 |       |
  | 3 |    |       |
  | 4 | 40 |       |
  ratio = 1 / (t - zero - 2)
  after = next(v) + 1
  chain = prev(ratio)  start 1
table run rows 6  until speed > 1000 * big
  step = prev(step) + 1  start zero
  speed = prev(speed) * big  start 1
table short rows 5  until 1 / (step - 3) > 9
  step = prev(step) + 1  start 0
division = 1 / zero
product = big * big
power = zero ^ minus
root = minus ^ half
odd = minus ^ (half + 0.25)
sqrt_minus = sqrt(minus)
log_zero = ln(zero)
arc = acos(two)
exponent = exp(big)
remainder = mod(two, zero)
divisor = gcd(half, two)
long = hypot(big * 1e8, big * 1e8)
slope = regression_slope(points.x, points.y)
level = regression_mean(points.x, points.y, two)
spread = regression_residual_sd(pair.x, pair.y)
freedom = effective_freedom(parts.u, parts.freedom)
fine = regression_slope(pair.x, pair.y) + 1 / zero
off = lookup(minus, log.t, log.t)
off_high = lookup_monotone(9 * two, log.t, log.t)
turning = lookup(two, points.back, points.y)
still = lookup_monotone(1, points.x, points.y)
nothing = lookup(two, log.t, log.empty)
crossing = first_at(99, points.back, points.y)
no_name = pick(word, names.name, names.v)
none = mean(log.empty)
huge = sum(run.speed)
blank_entry = log.v[blank_row]
past = log.v[9 * two]
part = log.v[half]
faulty_entry = log.ratio[two]
last_of = last(log.ratio)
never = sum(run.step)
broken = max(short.step)
branch = if zero > 1 then 1 / zero else two
taken = if zero < 1 then 1 / zero else two
both = (zero > 1) and (1 / zero > 2)
either = (zero < 1) or (1 / zero > 2)
neither = (1 / zero > 2) or (zero < 1)
waits = division + product
limit waits < 3
limit log.ratio < 2
limit short.step < 100
limit run.speed < big
limit 3 < off < 4
`,
	"broken": `big : 900
table pass rows 8  until power > 5
  power = (9 + abs(prev(power))) ^ big * prev(power)  start 2.85
  way = prev(way) * 0.5 + 1  start 0
  out = way * (next(way) + next(way))
  back = way + row
furthest = max(pass.way)
limit pass.out < 3
`,
}

// TestUnitsAreReadAlike types givens in other units than the sheet's: what is
// set on the page is what --set takes.
func TestUnitsAreReadAlike(t *testing.T) {
	s, list := sheet.FromText("units.leaf", `unit plug
plugs : 4 plug
rate : 2 plug/h
rise : 30 psid/s
heat : 12 J/cm2
pump : 900 cc/min
accel : 9.8 m/s2
boost : 21 psig
air : 84 degF
share : 12 %
bsfc : 0.6 lb/(hp.h)
`)
	if s == nil {
		t.Fatal(list)
	}
	path := writtenWith(t, t.TempDir(), "units", s, true, func(want *expected) {
		for _, set := range [][2]string{
			{"rise", "2 bard/s"},
			{"rise", "120 kPad/s"},
			{"heat", "50000 J/m2"},
			{"pump", "14 galUS/h"},
			{"pump", "0.9 L/min"},
			{"accel", "0.1 km/s2"},
			{"accel", "32 ft/s2"},
			{"boost", "1.6 barg"},
			{"air", "29 degC"},
			{"share", "90 ppm"},
			{"bsfc", "365 g/(kW.h)"},
			{"plugs", "5 plug"},
			{"rate", "3 plug/day"},
		} {
			setting, d := s.ParseSetting(set[0] + "=" + set[1])
			if d != nil {
				t.Fatal(d)
			}
			done, err := s.Change([]sheet.Setting{setting})
			if err != nil {
				t.Fatal(err)
			}
			want.Changes = append(want.Changes, change{[][2]string{set}, valuesOf(s, done.After, true)})
		}
	})
	if out, err := exec.Command(need(t, "node"), "testdata/same.mjs", "script", path).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

// TestScriptsSameNumbers holds the scripts to the tool in node,
// without a browser: every value to the bit, every text and cause to the
// character.
func TestScriptsSameNumbers(t *testing.T) {
	node := need(t, "node")
	generated, changes := 8, 3
	if n := campaign(); n > 0 {
		generated, changes = n, 8
	} else if testing.Short() {
		generated = 2
	}
	args := append([]string{"testdata/same.mjs", "script"}, pages(t, generated, changes)...)
	if out, err := exec.Command(node, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}
