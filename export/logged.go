package export

import (
	"fmt"
	"math"

	"gearleaf/sheet/check"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/unit"
)

// LoggedTabs are the tables of a log compared with a sheet: splits, shifts,
// figures, rollout and slip by speed, differences, and both passes side by
// side.
func LoggedTabs(h *pass.Logged) []Tab {
	t := loggedTabs{h: h}
	t.length, t.speed = t.unitOf("mark", "ft"), t.unitOf("speed", "mph")
	t.engine, t.rollout = t.unitOf("engine_speed", "rpm"), t.unitOf("rollout", "mm")
	var out []Tab
	for _, tab := range []Tab{t.splits(), t.shifts(), t.figures(), t.bySpeed(), t.differences(), t.sideBySide()} {
		if len(tab.Rows) > 0 {
			tab.set = SetText(h.Sheet)
			out = append(out, tab)
		}
	}
	return out
}

// loggedTabs makes tables in the units that the sheet shows.
type loggedTabs struct {
	h                              *pass.Logged
	length, speed, engine, rollout unit.Unit
}

// unitOf is the unit in which the sheet shows a column of that name.
func (t *loggedTabs) unitOf(name, otherwise string) unit.Unit {
	for _, c := range t.h.Sheet.Model.Columns {
		if c.Name == name && c.Type.Form == check.Number && !c.Table.Library && c.Unit.Symbol != "" {
			return c.Unit
		}
	}
	u, err := t.h.Sheet.Model.Units.Parse(otherwise)
	if err != nil {
		return unit.Unit{Scale: 1}
	}
	return u
}

// inUnit is a value in a unit, nil if there is none.
func inUnit(u unit.Unit, v float64) any {
	if v != v || math.IsInf(v, 0) {
		return nil
	}
	return u.Number(v)
}

// less is a difference, log less sheet, in a unit; nil if there is none.
func less(u unit.Unit, a, b float64) any {
	if d := u.Difference(a, b); d == d && !math.IsInf(d, 0) {
		return d
	}
	return nil
}

// trio adds sheet, log and difference of one quantity to a table.
func (tab *Tab) trio(name string, u unit.Unit, step float64) {
	for _, who := range []string{"sheet", "log", "log - sheet"} {
		tab.field(name, who, u, step)
	}
}

// field adds a column to a group of them.
func (tab *Tab) field(group, name string, u unit.Unit, step float64) {
	for len(tab.Groups) < len(tab.Fields) {
		tab.Groups = append(tab.Groups, "")
	}
	tab.Groups = append(tab.Groups, group)
	tab.Fields = append(tab.Fields, fieldIn(group+" "+name, u))
	tab.Steps = append(tab.Steps, step)
}

func three(u unit.Unit, ours, theirs float64) []any {
	return []any{inUnit(u, ours), inUnit(u, theirs), less(u, theirs, ours)}
}

var seconds = unit.Unit{Symbol: "s", Scale: 1}

func (t *loggedTabs) splits() Tab {
	tab := Tab{Name: "Splits", Title: "Splits found; the clock starts when the front wheel has left the beam"}
	tab.Fields, tab.Steps = []Field{fieldIn("mark", t.length)}, []float64{1}
	tab.trio("elapsed", seconds, 0.001)
	tab.trio("at mark", t.speed, 0.1)
	tab.trio("on slip", t.speed, 0.1)
	ours, theirs := t.h.OursRead.Splits, t.h.LogRead.Splits
	for i := range min(len(ours), len(theirs)) {
		a, b := ours[i], theirs[i]
		row := []any{inUnit(t.length, a.Mark)}
		row = append(row, three(seconds, a.Elapsed, b.Elapsed)...)
		row = append(row, three(t.speed, a.Speed, b.Speed)...)
		tab.Rows = append(tab.Rows, append(row, three(t.speed, a.Mean, b.Mean)...))
	}
	return tab
}

func (t *loggedTabs) shifts() Tab {
	tab := Tab{Name: "Shifts", Title: "Shift points"}
	tab.Fields, tab.Steps = []Field{{Name: "shift"}}, []float64{0}
	tab.trio("time", seconds, 0.01)
	tab.trio("engine", t.engine, 10)
	tab.trio("speed", t.speed, 0.1)
	ours, theirs := t.h.OursRead.Shifts, t.h.LogRead.Shifts
	none := runlog.Shift{Time: math.NaN(), Engine: math.NaN(), Speed: math.NaN()}
	for i := range max(len(ours), len(theirs)) {
		a, b := none, none
		if i < len(ours) {
			a = ours[i]
		}
		if i < len(theirs) {
			b = theirs[i]
		}
		row := []any{fmt.Sprintf("%d to %d", i+1, i+2)}
		row = append(row, three(seconds, a.Time, b.Time)...)
		row = append(row, three(t.engine, a.Engine, b.Engine)...)
		tab.Rows = append(tab.Rows, append(row, three(t.speed, a.Speed, b.Speed)...))
	}
	return tab
}

// figures are lock-up and fuel.
func (t *loggedTabs) figures() Tab {
	tab := Tab{Name: "Figures", Title: "Lock-up and fuel"}
	tab.Fields = []Field{{Name: "figure"}, {Name: "unit"}, {Name: "sheet"}, {Name: "log"}, {Name: "log - sheet"}}
	tab.Steps = make([]float64, len(tab.Fields))
	add := func(name string, u unit.Unit, step, ours, theirs float64) {
		row := []any{name, symbol(u)}
		for _, v := range three(u, ours, theirs) {
			if x, ok := v.(float64); ok {
				v = toStep(x, step)
			}
			row = append(row, v)
		}
		if row[2] != nil || row[3] != nil {
			tab.Rows = append(tab.Rows, row)
		}
	}
	at, speed := lockUps(&t.h.OursRead), lockUps(&t.h.LogRead)
	add("lock-up, after the launch", seconds, 0.01, at[0], speed[0])
	add("lock-up, at", t.speed, 0.1, at[1], speed[1])
	if u, step, ok := t.fuelUnit(); ok {
		add("fuel, start to finish", u, step, t.h.OursRead.Fuel, t.h.LogRead.Fuel)
	}
	return tab
}

func lockUps(r *runlog.Reading) [2]float64 {
	if r.LockUp == nil {
		return [2]float64{math.NaN(), math.NaN()}
	}
	return [2]float64{r.LockUp.Time, r.LockUp.Speed}
}

// fuelUnit is the unit of an integrated flow: of volume or mass.
func (t *loggedTabs) fuelUnit() (u unit.Unit, step float64, ok bool) {
	flow := t.h.Mapping.Channel("fuel_flow")
	if flow == nil {
		return u, 0, false
	}
	s := t.h.Sheet.Model.Units
	for _, try := range []struct {
		text string
		step float64
	}{{"floz", 0.1}, {"lb", 0.001}} {
		u, err := s.Parse(try.text)
		rate, err2 := s.Parse(try.text + "/s")
		if err == nil && err2 == nil && rate.Measure.Dim == flow.Type.Measure.Dim {
			return u, try.step, true
		}
	}
	return u, 0, false
}

func (t *loggedTabs) bySpeed() Tab {
	tab := Tab{Name: "Rollout and slip", Title: "Effective rollout (way a turn of the wheel makes) and slip, by speed"}
	tab.Fields, tab.Steps = []Field{fieldIn("speed", t.speed)}, []float64{1}
	tab.trio("rollout", t.rollout, 1)
	percent := unit.Unit{Symbol: "%", Scale: 0.01}
	tab.trio("slip", percent, 0.1)
	tab.Fields, tab.Steps = append(tab.Fields, Field{Name: "samples"}), append(tab.Steps, 1)
	for _, b := range t.h.LogRead.Rollout {
		a := runlog.Bin{Rollout: math.NaN(), Slip: math.NaN()}
		for _, one := range t.h.OursRead.Rollout {
			if one.Speed == b.Speed {
				a = one
			}
		}
		row := []any{inUnit(t.speed, b.Speed)}
		row = append(row, three(t.rollout, a.Rollout, b.Rollout)...)
		row = append(row, three(percent, a.Slip, b.Slip)...)
		tab.Rows = append(tab.Rows, append(row, float64(b.N)))
	}
	name := func(u unit.Unit, what string) string { return what + ", " + symbol(u) }
	if tab.has(2) {
		tab.Charts = append(tab.Charts, TabChart{Title: "Effective rollout by speed", XName: name(t.speed, "speed"), YName: name(t.rollout, "rollout"), Y: []int{1, 2}})
	}
	if tab.has(5) {
		tab.Charts = append(tab.Charts, TabChart{Title: "Slip by speed", XName: name(t.speed, "speed"), YName: name(percent, "slip"), Y: []int{4, 5}})
	}
	return tab
}

// has reports whether a column holds anything.
func (tab *Tab) has(column int) bool {
	for _, row := range tab.Rows {
		if row[column] != nil {
			return true
		}
	}
	return false
}

func (t *loggedTabs) differences() Tab {
	tab := Tab{Name: "Differences", Title: "Log less sheet, all samples of the pass"}
	tab.Fields = []Field{{Name: "channel"}, {Name: "unit"}, {Name: "compared"}, {Name: "mean"}, {Name: "rms"}, {Name: "largest"}, fieldIn("at", seconds), {Name: "log from"}, {Name: "log mean"}, {Name: "log to"}}
	tab.Steps = []float64{0, 0, 1, 0, 0, 0, 0.01, 0, 0, 0}
	for _, d := range t.h.Partings {
		u := d.Channel.Unit
		if d.Channel.Column != nil && d.Channel.Column.Unit.Symbol != "" {
			u = d.Channel.Column.Unit
		}
		row := []any{
			d.Channel.Name, symbol(u), float64(d.N), fine(less(u, d.Mean, 0)), fine(less(u, d.RMS, 0)), fine(less(u, d.Most, 0)), nil,
			fine(inUnit(u, d.Lowest)), fine(inUnit(u, d.Average)), fine(inUnit(u, d.Highest)),
		}
		if d.N > 0 {
			row[6] = d.MostAt
		}
		tab.Rows = append(tab.Rows, row)
	}
	return tab
}

// fine rounds a number to four digits.
func fine(v any) any {
	if x, ok := v.(float64); ok {
		return unit.Significant(x, 4)
	}
	return v
}

// toStep rounds x to a step, without noise in the last digits.
func toStep(x, step float64) float64 {
	if step >= 1 {
		return math.Round(x/step) * step
	}
	return math.Round(x/step) / math.Round(1/step)
}

// mostBeside bounds the rows of the two passes side by side.
const mostBeside = 1000

// sideBySide has both passes at the times of the sheet's rows.
func (t *loggedTabs) sideBySide() Tab {
	h := t.h
	tab := Tab{Name: "Side by side", Title: "Sheet and log over the time since the launch"}
	tab.Fields, tab.Steps = []Field{fieldIn("time", seconds)}, []float64{0.001}
	type pair struct {
		ours, theirs *runlog.Cleaned
		u            unit.Unit
	}
	var pairs []pair
	for _, d := range h.Partings {
		c := d.Channel
		theirs := h.Theirs.Channel(c.Name)
		p := pair{theirs: theirs, u: c.Unit}
		y := []int{len(tab.Fields)}
		step := 0.0
		if c.Column != nil {
			p.ours = h.Ours.Channel(c.Name)
			p.u, step = c.Column.Unit, c.Column.To
			tab.field(c.Name, "sheet", p.u, step)
			y = append(y, len(tab.Fields))
		}
		tab.field(c.Name, "log", p.u, step)
		pairs = append(pairs, p)
		title := channelLabel(c)
		yName := title
		if s := symbol(p.u); s != "" {
			yName += ", " + s
		}
		tab.Charts = append(tab.Charts, TabChart{Title: title + ", sheet and log", XName: "time since the launch, s", YName: yName, Y: y, Channel: c.Name})
	}
	times := t.times()
	for _, at := range times {
		row := []any{at}
		for _, p := range pairs {
			if p.ours != nil {
				row = append(row, inUnit(p.u, p.ours.At(at, math.Inf(1))))
			}
			row = append(row, inUnit(p.u, p.theirs.At(at, p.theirs.Reach)))
		}
		tab.Rows = append(tab.Rows, row)
	}
	return tab
}

// channelLabel returns what a channel is called: as the sheet's column that has
// its name.
func channelLabel(c *check.Channel) string {
	if c.Column != nil {
		return label(&c.Column.Quantity)
	}
	return plainName(c.Name)
}

// times are evenly spaced over the pass.
func (t *loggedTabs) times() []float64 {
	end := t.h.Ours.End
	step := 0.01
	for end/step > mostBeside {
		step *= 2
	}
	var out []float64
	for i := 0; float64(i)*step <= end; i++ {
		out = append(out, math.Round(float64(i)*step*1e6)/1e6)
	}
	return out
}
