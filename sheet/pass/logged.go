// Package pass compares logged passes with the pass that a sheet computes: it
// guesses the meaning of the columns of a logger's file (guess.go), reads the
// file by the sheet's log lines (logfile.go), aligns both clocks and measures
// the differences (logged.go), takes delays of channels into account and
// refuses an absolute pressure as boost (sensor.go), fits givens to the log
// (fit.go) and describes the result (fitted.go), tries other starts where the
// log does not depend on a given (flat.go), and writes simulated logs
// (invent.go).
package pass

import (
	"fmt"
	"math"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/unit"
)

// LogQuestion selects how a log is compared with a sheet.
type LogQuestion struct {
	Mapping *check.Log
	File    *runlog.Log
	// Align is the channel by which the clocks are aligned: "speed",
	// "distance", another channel, or empty for the first of these that
	// exists.
	Align string
	// Zero is the log's time at which the pass begins, in seconds; nil if
	// unknown.
	Zero *float64
	// Pass counts the passes of the log, from 1.
	Pass int
}

// Logged is a logged pass and the sheet's own.
type Logged struct {
	Sheet   *sheet.Sheet
	Mapping *check.Log
	File    *runlog.Log
	Result  *sheet.Result // of the sheet
	Launch  runlog.Launch
	Pass    int // which of them, from 1
	Passes  int // the number in the log
	// Ours is the sheet's pass, Theirs the logged one, over one clock.
	Ours, Theirs      runlog.Pass
	Track             runlog.Track
	OursRead, LogRead runlog.Reading
	Partings          []Parting
	Notes             []string // findings in the file, and the corrections made
	delays            map[string]float64
}

// Parting is the difference between log and sheet in one channel, in SI, and
// the range and mean of the log's own values.
type Parting struct {
	Channel *check.Channel
	N       int
	Mean    float64 // of log minus sheet
	RMS     float64
	Most    float64 // the largest difference, and
	MostAt  float64 // its time, in seconds
	Lowest  float64 // of the log
	Highest float64
	Average float64
}

// Hold aligns a log with the sheet's pass and reads both.
func Hold(s *sheet.Sheet, q LogQuestion) (*Logged, error) {
	r, err := s.Compute()
	if err != nil {
		return nil, err
	}
	h := &Logged{Sheet: s, Mapping: q.Mapping, File: q.File, Result: r}
	if h.Ours, err = computedPass(s, r, q.Mapping.Table); err != nil {
		return nil, err
	}
	if err := h.readDelays(); err != nil {
		return nil, err
	}
	if err := h.align(q); err != nil {
		return nil, err
	}
	if err := h.admitBoost(); err != nil {
		return nil, err
	}
	h.Track = track(s, r, &h.Ours)
	h.OursRead, h.LogRead = h.Ours.Read(h.Track), h.Theirs.Read(h.Track)
	h.compare()
	h.note()
	return h, nil
}

// computedPass reads the table of a pass: every column of numbers.
func computedPass(s *sheet.Sheet, r *sheet.Result, t *check.Table) (runlog.Pass, error) {
	var p runlog.Pass
	rows, ended := r.Live(t)
	if !ended && t.Until != 0 {
		return p, sheet.Refuse("the pass in table %s never ends: its until never holds", t.Name)
	}
	time := column(t, "time")
	values := func(c *check.Column) []float64 {
		out := make([]float64, rows)
		for i := range out {
			if out[i] = r.Entry(c, i).V; kernel.IsFault(out[i]) {
				out[i] = math.NaN()
			}
		}
		return out
	}
	at := values(time)
	for i, v := range at {
		if v != v || i > 0 && v <= at[i-1] {
			return p, sheet.Refuse("%s.time does not rise in row %d: a pass needs a time in every row", t.Name, i+1)
		}
	}
	for _, c := range t.Columns {
		if c.Type.Form == check.Number && c != time {
			p.Names = append(p.Names, c.Name)
			p.Channels = append(p.Channels, computed(at, values(c)))
		}
	}
	p.End = at[rows-1]
	return p, nil
}

// computed makes a channel of computed rows, blanks left out.
func computed(t, v []float64) runlog.Cleaned {
	var c runlog.Cleaned
	for i := range t {
		if v[i] == v[i] {
			c.T, c.V = append(c.T, t[i]), append(c.V, v[i])
		}
	}
	c.Reach = math.Inf(1)
	return c
}

// standardMarks are used if the sheet lists none.
var standardMarks = []float64{60 * 0.3048, 330 * 0.3048, 660 * 0.3048, 1000 * 0.3048, 1320 * 0.3048}

// track collects what a reading needs from the sheet: the cell start_run, a
// column of marks, the column overall of a table of gears.
func track(s *sheet.Sheet, r *sheet.Result, ours *runlog.Pass) runlog.Track {
	out := runlog.Track{}
	if c, _ := s.Model.Resolve("start_run"); c != nil && isLength(c.Type) {
		if v := r.Cell(c).V; v == v {
			out.Start = v
		}
	}
	marks := standardMarks
	for _, t := range s.Model.Tables {
		if c := column(t, "mark"); c != nil && !t.Library && isLength(c.Type) {
			marks = numbers(r, c)
		}
		if c := column(t, "overall"); c != nil && !t.Library && column(t, "time") == nil && out.Overall == nil {
			out.Overall = numbers(r, c)
		}
	}
	far := math.Inf(1)
	if d := ours.Channel("distance"); d != nil && d.Len() > 0 {
		far = d.V[d.Len()-1] - out.Start
	}
	for _, m := range marks {
		if m > 0 && m <= far*(1+1e-9) {
			out.Marks = append(out.Marks, m)
		}
	}
	return out
}

func isLength(t check.Type) bool {
	return t.Form == check.Number && t.Measure.Dim == unit.Dimension{unit.Length: {Num: 1}}
}

// numbers returns the live values of a column that are numbers.
func numbers(r *sheet.Result, c *check.Column) []float64 {
	var out []float64
	rows, _ := r.Live(c.Table)
	for i := range rows {
		if v := r.Entry(c, i).V; v == v {
			out = append(out, v)
		}
	}
	return out
}

// channelOf returns the file's column of a channel with its unit.
func (h *Logged) channelOf(name string) (values []float64, u unit.Unit) {
	for _, c := range h.File.Columns {
		if c.Name == name {
			return c.Values, h.Mapping.Channel(name).Unit
		}
	}
	return nil, u
}

// alignBy chooses the channel by which the clocks are aligned.
func (h *Logged) alignBy(want string) (string, error) {
	both := func(name string) bool {
		v, _ := h.channelOf(name)
		return v != nil && h.Ours.Channel(name) != nil
	}
	if want != "" {
		if !both(want) {
			return "", sheet.Refuse("sheet and log do not both have %q, so it cannot align them", want)
		}
		return want, nil
	}
	for _, name := range []string{"speed", "distance", "engine_speed"} {
		if both(name) {
			return name, nil
		}
	}
	return "", sheet.Refuse("sheet and log have neither speed, distance nor engine_speed in common: nothing to align them by")
}

// segments returns the rows of every segment of the file, from and to.
func (h *Logged) segments() [][2]int {
	var out [][2]int
	for i, from := range h.File.Segments {
		to := h.File.Rows()
		if i+1 < len(h.File.Segments) {
			to = h.File.Segments[i+1]
		}
		out = append(out, [2]int{from, to})
	}
	return out
}

// times returns the times of rows from..to in seconds.
func (h *Logged) times(from, to int) []float64 {
	v, u := h.channelOf("time")
	if u.Scale == 1 && u.Offset == 0 {
		return v[from:to]
	}
	out := make([]float64, to-from)
	for i := range out {
		out[i] = u.SI(v[from+i])
	}
	return out
}

// series returns a channel of rows from..to, in SI, blanks left out.
func (h *Logged) series(name string, from, to int) runlog.Series {
	v, u := h.channelOf(name)
	t, late := h.times(from, to), h.delays[name]
	out := runlog.Series{T: make([]float64, 0, to-from), V: make([]float64, 0, to-from)}
	for i, at := range t {
		if x := v[from+i]; x == x {
			out.T, out.V = append(out.T, at-late), append(out.V, u.SI(x))
		}
	}
	return out
}

// margin is the time before and after the pass that is used from the log, in
// seconds.
const margin = 1.0

// found is a pass of the log and the segment of the file that has it.
type found struct {
	runlog.Launch
	rows [2]int
}

// align finds the pass and cleans its channels.
func (h *Logged) align(q LogQuestion) error {
	by, err := h.alignBy(q.Align)
	if err != nil {
		return err
	}
	passes, err := h.passes(by, q.Zero)
	if err != nil {
		return err
	}
	switch h.Passes = len(passes); {
	case h.Passes == 0:
		return &runlog.Mistake{File: h.File.Name, Message: h.noPass(by), Help: "say when it begins, --zero SECONDS, or by what to align, --align CHANNEL"}
	case q.Pass > h.Passes:
		return &runlog.Mistake{File: h.File.Name, Message: fmt.Sprintf("it has no pass %d; passes in it: %d", q.Pass, h.Passes)}
	}
	h.Pass = max(1, q.Pass)
	one := passes[h.Pass-1]
	h.Launch = one.Launch
	h.cut(one)
	if q.Zero == nil && one.By != "" && (by == "speed" || by == "distance") {
		h.refine(by)
	}
	h.Theirs.End = math.Min(h.Ours.End, h.lastTime(one.rows)-h.Launch.At)
	return nil
}

// passes searches every segment of the file for passes.
func (h *Logged) passes(by string, zero *float64) ([]found, error) {
	var out []found
	ours, compared := h.Ours.Channel(by), 0.0
	for _, rows := range h.segments() {
		if rows[1]-rows[0] < 8 {
			continue
		}
		if zero != nil {
			if t := h.times(rows[0], rows[1]); *zero >= t[0] && *zero < t[len(t)-1] {
				out = append(out, found{runlog.Launch{At: *zero, By: "the time given", Short: math.Max(0, *zero+h.Ours.End-t[len(t)-1])}, rows})
			}
			continue
		}
		theirs := h.series(by, rows[0], rows[1])
		if by == "speed" || by == "distance" {
			for _, l := range runlog.Launches(ours.Series, theirs, by) {
				out = append(out, found{l, rows})
			}
			continue
		}
		if compared += runlog.Compared(ours.Series, theirs); !(compared <= runlog.MostCompared) {
			return nil, h.tooLong(by)
		}
		if l, ok := runlog.Correlate(ours.Series, theirs, by); ok {
			out = append(out, found{l, rows})
		}
	}
	return out, nil
}

// tooLong is the error of a log that is too long to find the pass in it by a
// channel of any shape.
func (h *Logged) tooLong(by string) error {
	return &runlog.Mistake{
		File:    h.File.Name,
		Message: fmt.Sprintf("it is too long to find the pass in it by %s: more than %d samples would be compared", by, runlog.MostCompared),
		Help:    "say when the pass begins, --zero SECONDS, or align by speed or distance",
	}
}

// noPass describes why there is no pass in the log.
func (h *Logged) noPass(by string) string {
	v, u := h.channelOf(by)
	top := math.Inf(-1)
	for _, x := range v {
		if x > top {
			top = x
		}
	}
	ours := h.Ours.Channel(by)
	most := 0.0
	for _, x := range ours.V {
		most = math.Max(most, x)
	}
	return fmt.Sprintf("no pass is found in it: %s goes up to %s, in the sheet's pass to %s",
		by, u.Format(u.SI(top), 0), u.Format(most, 0))
}

// lastTime is the time of the last row.
func (h *Logged) lastTime(rows [2]int) float64 {
	t := h.times(rows[0], rows[1])
	return t[len(t)-1]
}

// cut extracts the pass from the file, with the pass's own clock.
func (h *Logged) cut(one found) {
	t := h.times(one.rows[0], one.rows[1])
	lo, hi := one.At-margin, one.At+h.Ours.End+margin
	from, to := search(t, lo), search(t, hi)
	for _, c := range h.Mapping.Channels {
		if c.Name == "time" {
			continue
		}
		raw, u := h.channelOf(c.Name)
		clock, si := make([]float64, to-from), make([]float64, to-from)
		for i := range si {
			clock[i], si[i] = t[from+i]-h.delays[c.Name]-one.At, u.SI(raw[one.rows[0]+from+i])
		}
		h.Theirs.Names = append(h.Theirs.Names, c.Name)
		h.Theirs.Channels = append(h.Theirs.Channels, runlog.Clean(clock, si))
	}
}

// search returns the index of the first of t that is at least x.
func search(t []float64, x float64) int {
	lo, hi := 0, len(t)
	for lo < hi {
		if mid := (lo + hi) / 2; t[mid] < x {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// refine aligns the cleaned channels again, without repeated samples and spikes.
func (h *Logged) refine(by string) {
	again := runlog.Launches(h.Ours.Channel(by).Series, h.Theirs.Channel(by).Series, by)
	if len(again) == 0 || math.Abs(again[0].At) > margin/2 {
		return
	}
	shift := again[0].At
	for i := range h.Theirs.Channels {
		c := &h.Theirs.Channels[i]
		for k := range c.T {
			c.T[k] -= shift
		}
		c.SpikeAt, c.GapAt = c.SpikeAt-shift, c.GapAt-shift
	}
	h.Launch.At += shift
	h.Launch.Spread = again[0].Spread
}

// compare computes the differences of every common channel.
func (h *Logged) compare() {
	for i := range h.Mapping.Channels {
		c := &h.Mapping.Channels[i]
		theirs := h.Theirs.Channel(c.Name)
		if theirs == nil {
			continue
		}
		var ours *runlog.Cleaned
		if c.Column != nil {
			ours = h.Ours.Channel(c.Name)
		}
		h.Partings = append(h.Partings, h.difference(c, ours, theirs.Between(0, h.Theirs.End)))
	}
}

// difference compares one channel; if the sheet does not have it, the result
// has only the log's values.
func (h *Logged) difference(c *check.Channel, ours *runlog.Cleaned, log runlog.Series) Parting {
	out := Parting{Channel: c, Lowest: math.Inf(1), Highest: math.Inf(-1), Mean: math.NaN(), RMS: math.NaN(), Most: math.NaN()}
	sum, squares, all := 0.0, 0.0, 0.0
	for i, t := range log.T {
		v := log.V[i]
		out.Lowest, out.Highest = math.Min(out.Lowest, v), math.Max(out.Highest, v)
		all += v
		want := h.expected(c, ours, t)
		if want != want {
			continue
		}
		d := v - want
		out.N++
		sum, squares = sum+d, squares+float64(d*d)
		if !(math.Abs(d) <= math.Abs(out.Most)) {
			out.Most, out.MostAt = d, t
		}
	}
	out.Average = all / float64(log.Len())
	if out.N > 0 {
		out.Mean, out.RMS = sum/float64(out.N), math.Sqrt(squares/float64(out.N))
	}
	return out
}

// expected is the sheet's value at a time: of a column of the pass, or of a
// cell.
func (h *Logged) expected(c *check.Channel, ours *runlog.Cleaned, t float64) float64 {
	switch {
	case ours != nil:
		return ours.At(t, math.Inf(1))
	case c.Cell != nil:
		return h.Result.Cell(c.Cell).V
	}
	return math.NaN()
}

// note collects the findings in the file.
func (h *Logged) note() {
	name := h.File.Name
	for _, f := range h.File.Findings {
		text := fmt.Sprintf("%s:%d: %s", name, f.Line, f.Text)
		if f.Count > 1 {
			text += fmt.Sprintf(" (%d in all)", f.Count)
		}
		h.Notes = append(h.Notes, text)
	}
	h.noteChannels()
	h.noteDelays()
	if h.Launch.Short > 0 {
		h.Notes = append(h.Notes, fmt.Sprintf("the log ends %.2f s before the sheet's pass does: only what it holds is compared", h.Launch.Short))
	}
}

// noteChannels lists the corrections to the channels, once for all channels
// with the same correction.
func (h *Logged) noteChannels() {
	var texts []string
	who := map[string][]string{}
	for i, n := range h.Theirs.Names {
		for _, text := range h.Theirs.Channels[i].Changes() {
			if who[text] == nil {
				texts = append(texts, text)
			}
			who[text] = append(who[text], n)
		}
	}
	for _, text := range texts {
		h.Notes = append(h.Notes, strings.Join(who[text], ", ")+": "+text)
	}
}

// Layout describes the layout of the file.
func (h *Logged) Layout() string {
	l := h.File.Layout
	parts := []string{fmt.Sprintf("%d columns separated by %s", len(l.Heads), l.DelimiterName())}
	if l.Point == ',' {
		parts = append(parts, "decimal commas")
	}
	if l.UnitLine > 0 {
		parts = append(parts, fmt.Sprintf("units in line %d", l.UnitLine))
	}
	if l.HeadLine > 1 {
		parts = append(parts, fmt.Sprintf("the head in line %d", l.HeadLine))
	}
	return strings.Join(parts, ", ")
}
