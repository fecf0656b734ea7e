package pass

import (
	"context"
	"math"
	"slices"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/question"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/whatif"
)

// FitQuestion asks which values of givens bring the sheet's pass nearest to a
// logged one.
type FitQuestion struct {
	Logged  *Logged
	By      []question.Axis
	Against []string // channels; empty for those that suit
}

// Fitted is the answer.
type Fitted struct {
	Sheet    *sheet.Sheet
	Logged   *Logged
	Givens   []FittedGiven
	Channels []FittedChannel
	Pairs    []Pair
	// Clock is the offset of the log's clock relative to the alignment, in
	// seconds, and ClockError its standard error.
	Clock, ClockError float64
	// Lag is the correlation of a residual with the next one, -1 to 1: if it is
	// far above 0, the sheet does not describe the pass, and the standard
	// errors have been widened.
	Lag      float64
	Estimate whatif.Estimate
	Settings []sheet.Setting
	Before   *sheet.Result
	After    *sheet.Result // with the rounded values, confirmed by the second evaluator
}

// FittedGiven is a given that was fitted.
type FittedGiven struct {
	question.Axis
	Before, After float64 // in SI; After is rounded according to the error
	Error         float64 // standard error; infinite if the log does not determine it
	AtBound       bool
	// Unknown says that the log does not determine the given more closely than
	// its range does.
	Unknown bool
	Spot    Spot
}

// FittedChannel is a channel that was fitted to.
type FittedChannel struct {
	Channel       *check.Channel
	N             int     // values compared, each the mean of the samples around a time
	Doubted       int     // those with less weight, as outliers
	Before, After float64 // root mean square of the differences, in SI
}

// Worse reports whether a channel differs more after the fit than before, by
// more than the scatter of a root mean square: 1/√(2N) of it is one standard
// deviation.
func (c *FittedChannel) Worse() bool {
	return c.After > c.Before*(1+math.Max(0.01, 2/math.Sqrt(2*float64(c.N))))
}

// Pair is two givens whose errors are correlated; the second may be the clock.
type Pair struct {
	A, B        string
	Coefficient float64
}

// CloseTogether is the correlation from which two givens are reported as hard to
// distinguish; from Inseparable on they cannot be distinguished.
const (
	CloseTogether = 0.9
	Inseparable   = 0.99
)

// ParseFree reads the names of givens to be fitted: numbers with a range that
// need not be whole.
func ParseFree(s *sheet.Sheet, names []string) ([]question.Axis, *diag.Diagnostic) {
	var out []question.Axis
	for _, name := range names {
		a, d := question.ParseAxis(s, name, true)
		switch {
		case d != nil:
			return nil, d
		case a.Values != nil:
			return nil, sheet.Refuse("%s is chosen, not measured: only a number with a range of its own can be fitted", a.Name()).Diagnostic
		case slices.ContainsFunc(out, func(b question.Axis) bool { return a.Place == b.Place }):
			return nil, sheet.Refuse("%s is named twice: remove one", a.Name()).Diagnostic
		}
		out = append(out, a)
	}
	return out, nil
}

// ClockName is the clock's name among the parameters.
const ClockName = "the clock"

// Fit fits the givens of q to the log.
func Fit(ctx context.Context, s *sheet.Sheet, q FitQuestion) (*Fitted, error) {
	f := &fitting{s: s, q: q, table: q.Logged.Mapping.Table}
	if err := f.choose(); err != nil {
		return nil, err
	}
	f.lay()
	defer f.eval.Close()
	if len(f.points) < 3*(len(q.By)+1) {
		return nil, sheet.Refuse("the log has only %d values to compare, too few to fit %d givens", len(f.points), len(q.By))
	}
	var e whatif.Estimate
	at := f.start()
	for round := range fitRounds {
		f.weigh(at, round)
		f.leaveFlat(at)
		var err error
		if e, err = whatif.LeastSquares(ctx, whatif.Problem{Unknowns: f.unknowns(at), N: len(f.points), Residuals: f.residuals, Settled: fitSettled}); err != nil {
			return nil, err
		}
		at = e.Values
	}
	return f.answer(e)
}

// fitRounds is the number of times that the weights are computed again.
const fitRounds = 4

// fitEvaluations is the approximate number of evaluations of the sheet per
// round and unknown.
const fitEvaluations = 10

// fitSettled is the part of the sum of squares below which an improvement is
// ignored: weights are computed again anyway.
const fitSettled = 1e-6

// fitting is the state of one fit.
type fitting struct {
	s        *sheet.Sheet
	q        FitQuestion
	table    *check.Table
	channels []FittedChannel
	columns  []*check.Column
	delays   []*check.Cell // of the channels; nil if the sheet has none
	spots    []Spot        // of the givens
	points   []fitPoint
	weight   []float64
	eval     *whatif.Evaluator
}

// fitPoint is a value of the log: the mean of the samples around a time.
type fitPoint struct {
	channel int
	time, v float64
	// overall is the ratio of the gear that the log is in then; 0 if it
	// does not matter or is not known.
	overall float64
}

// choose finds the channels to fit to.
func (f *fitting) choose() error {
	l := f.q.Logged.Mapping
	for i := range l.Channels {
		c := &l.Channels[i]
		switch {
		case c.Name == "time" || c.Column == nil:
			continue
		case len(f.q.Against) > 0 && !slices.Contains(f.q.Against, c.Name):
			continue
		case len(f.q.Against) == 0 && (c.Name == "gear" || c.Name == "distance" && l.Channel("speed") != nil):
			continue // a step function, and the integral of the speed
		}
		f.channels = append(f.channels, FittedChannel{Channel: c})
		f.columns = append(f.columns, c.Column)
		f.delays = append(f.delays, delayCell(f.s, c.Name))
	}
	for _, name := range f.q.Against {
		if c := l.Channel(name); c == nil || c.Column == nil {
			return sheet.Refuse("sheet and log do not both have %q to be compared", name)
		}
	}
	if len(f.channels) == 0 {
		return sheet.Refuse("sheet and log have no channel in common beside the time")
	}
	return f.reached()
}

// reached refuses givens that no channel depends on, and the delays of all
// channels together, because the clock has the same effect.
func (f *fitting) reached() error {
	late := 0
	for k := range f.channels {
		if c := f.delays[k]; c != nil && slices.ContainsFunc(f.q.By, func(a question.Axis) bool { return f.reaches(a, c) }) {
			late++
		}
	}
	if late == len(f.channels) {
		return sheet.Refuse("a delay shows against another channel alone: fit to one more, --against %s,engine_speed", f.channels[0].Channel.Name)
	}
	for _, a := range f.q.By {
		reached := false
		for k, c := range f.columns {
			reached = reached || f.reaches(a, c) || f.delays[k] != nil && f.reaches(a, f.delays[k])
		}
		if !reached {
			return sheet.Refuse("nothing that the log shows depends on %s", a.Name())
		}
	}
	return nil
}

// reaches reports whether a cell or column depends on a given.
func (f *fitting) reaches(a question.Axis, what any) bool {
	return slices.Contains(f.s.Graph.Reach([]int{a.Task(f.s.Graph)}), f.s.Graph.TaskOf(what))
}

// The largest number of values of one channel, and the least time over which
// one is the mean.
const (
	fitValues = 400
	fitWidth  = 0.01
)

// aroundShift is the time, from the start of a shift, in which engine and wheel
// speed are left out: they show the shift itself.
const aroundShift = 0.15

// lay computes means of the samples.
func (f *fitting) lay() {
	h := f.q.Logged
	end := h.Theirs.End * 0.998
	width := math.Max(end/fitValues, fitWidth)
	for k := range f.channels {
		name := f.channels[k].Channel.Name
		in := h.Theirs.Channel(name).Between(0, end)
		if brief(name) {
			in.V = runlog.Middle(in.T, in.V, briefHalf)
		}
		for i := 0; i < in.Len(); {
			bin, t, v, n := math.Floor(in.T[i]/width), 0.0, 0.0, 0.0
			for ; i < in.Len() && math.Floor(in.T[i]/width) == bin; i++ {
				t, v, n = t+in.T[i], v+in.V[i], n+1
			}
			if t /= n; name != "speed" && nearShift(h.LogRead.Shifts, t) {
				continue
			}
			f.points = append(f.points, fitPoint{k, t, v / n, f.overall(name, t)})
			f.channels[k].N++
		}
	}
	p := len(f.q.By)
	by := make([]whatif.Place, p)
	for i, a := range f.q.By {
		by[i] = a.Place
	}
	f.eval = whatif.NewEvaluator(f.s.Program, f.s.Settings, by, fitRounds*fitEvaluations*(p+1))
	f.weight = make([]float64, len(f.points))
	f.spots = make([]Spot, p)
}

// brief reports whether a channel may fall to zero during a shift, as fuel and
// boost do: sheet and log shift at different times, so such drops are left out
// of both.
func brief(name string) bool {
	return !slices.Contains([]string{"speed", "wheel_speed", "engine_speed", "distance"}, name)
}

// briefHalf is half the width of the window in which such a drop is found.
const briefHalf = 0.045

// overall returns the ratio of the gear that the log is in at a time. Sheet
// and log are rarely in the same gear all the time; engine speed is compared
// as if they were, because otherwise a shift that is slightly earlier would
// outweigh everything else.
func (f *fitting) overall(name string, t float64) float64 {
	track := f.q.Logged.Track
	if name != "engine_speed" || column(f.table, "overall") == nil {
		return 0
	}
	gear := 0
	for _, s := range f.q.Logged.LogRead.Shifts {
		if t > s.Time {
			gear++
		}
	}
	if gear >= len(track.Overall) {
		return 0
	}
	return track.Overall[gear]
}

func nearShift(shifts []runlog.Shift, t float64) bool {
	for _, s := range shifts {
		if t > s.Time-0.04 && t < s.Time+aroundShift {
			return true
		}
	}
	return false
}

// start is the sheet's values, and the clock as aligned.
func (f *fitting) start() []float64 {
	out := make([]float64, 0, len(f.q.By)+1)
	for _, a := range f.q.By {
		out = append(out, math.Min(math.Max(f.s.Current(a.Place), a.Lo), a.Hi))
	}
	return append(out, 0)
}

// clockRoom is the largest move of the clock: a start that differs much from
// the log's, with less grip for example, may be misaligned by some tenths of a
// second.
const clockRoom = 0.8 * margin

// Slopes are taken over a step of stepShare of a given's value, or of
// rangeShare of its range if that is more. Rows end at events, so the pass is a
// continuous function of its givens; the remaining discontinuities, where a
// limit becomes active a row earlier, are far smaller than the effect of such a
// step. A larger step moves shifts past the times at which the log is read.
// Because the step is a share of the value, two givens that occur only as a
// product have exactly the same effect.
const (
	stepShare  = 0.005
	rangeShare = 0.002
)

func (f *fitting) unknowns(at []float64) []whatif.Unknown {
	out := make([]whatif.Unknown, len(at))
	for i, a := range f.q.By {
		step := math.Max(stepShare*math.Abs(at[i]), rangeShare*(a.Hi-a.Lo))
		out[i] = whatif.Unknown{Start: at[i], Lo: a.Lo, Hi: a.Hi, Step: step}
	}
	out[len(out)-1] = whatif.Unknown{Start: at[len(at)-1], Lo: -clockRoom, Hi: clockRoom, Step: 0.004}
	return out
}

// residuals evaluates the sheet at points, whose last value is the clock.
func (f *fitting) residuals(points, out [][]float64) {
	p := len(f.q.By)
	columns := make([][]float64, p)
	for k := range columns {
		for _, x := range points {
			columns[k] = append(columns[k], x[k])
		}
	}
	f.eval.Run(columns, len(points), func(i int, at whatif.View) {
		f.read(at, points[i][p], out[i])
	})
}

// read takes the log's values from the pass at one point.
func (f *fitting) read(pass whatif.View, clock float64, out []float64) {
	var ours runlog.Series
	channel, at, late := -1, 0, 0.0
	for i, p := range f.points {
		if p.channel != channel {
			channel, at = p.channel, 0
			ours = f.rows(pass, channel, p.overall > 0)
			late = f.late(pass, channel)
		}
		x := p.time - clock - late
		for at+2 < ours.Len() && ours.T[at+1] < x {
			at++
		}
		v := onLine(ours.T, ours.V, at, x)
		if p.overall > 0 {
			v *= p.overall
		}
		out[i] = f.weight[i] * (p.v - v)
	}
}

// late is a channel's delay, in seconds, beyond the one assumed when the log
// was read.
func (f *fitting) late(pass whatif.View, channel int) float64 {
	c := f.delays[channel]
	if c == nil {
		return 0
	}
	return pass.Cell(int(c.Index)) - f.q.Logged.delays[f.channels[channel].Channel.Name]
}

// rows reads a channel; engine speed is read over the gear's ratio.
func (f *fitting) rows(at whatif.View, channel int, geared bool) runlog.Series {
	c := f.columns[channel]
	rows, _ := at.Live(f.table.Index)
	s := runlog.Series{T: make([]float64, rows), V: make([]float64, rows)}
	time, overall := column(f.table, "time").Index, column(f.table, "overall")
	for r := range rows {
		s.T[r], s.V[r] = at.Entry(int(time), r), at.Entry(int(c.Index), r)
		if geared {
			s.V[r] /= at.Entry(int(overall.Index), r)
		}
	}
	if overall != nil && c.Name != "speed" {
		s = bridged(s, func(r int) bool { return at.Entry(int(overall.Index), r) != at.Entry(int(overall.Index), r-1) })
	}
	if brief(c.Name) {
		s = evenly(s)
		s.V = runlog.Middle(s.T, s.V, briefHalf)
	}
	return s
}

// bridged leaves out the rows around each shift, as nearShift does for the log:
// sheet and log shift at different times.
func bridged(s runlog.Series, shifts func(row int) bool) runlog.Series {
	var at []runlog.Shift
	for r := 1; r < s.Len(); r++ {
		if shifts(r) {
			at = append(at, runlog.Shift{Time: s.T[r]})
		}
	}
	out := runlog.Series{T: make([]float64, 0, s.Len()), V: make([]float64, 0, s.Len())}
	for r, t := range s.T {
		if r == 0 || r == s.Len()-1 || !nearShift(at, t) {
			out.T, out.V = append(out.T, t), append(out.V, s.V[r])
		}
	}
	return out
}

// evenGrid is the sampling interval of a channel that is resampled, in
// seconds.
const evenGrid = 0.005

// evenly resamples a channel of rows of any length at equal intervals. A
// median counts samples: over rows that end at events, of 20 ms or of 0.01 ms,
// it would jump whenever one more of them is in its window.
func evenly(s runlog.Series) runlog.Series {
	if s.Len() < 2 {
		return s
	}
	n := int((s.T[s.Len()-1]-s.T[0])/evenGrid) + 1
	out := runlog.Series{T: make([]float64, n), V: make([]float64, n)}
	at := 0
	for i := range n {
		x := s.T[0] + float64(i)*evenGrid
		for at+2 < s.Len() && s.T[at+1] < x {
			at++
		}
		out.T[i], out.V[i] = x, onLine(s.T, s.V, at, x)
	}
	return out
}

// onLine is the value at x on the line through rows at and at+1: constant
// before the first row, and with the same slope after the last one.
func onLine(t, v []float64, at int, x float64) float64 {
	if x <= t[0] || len(t) < 2 {
		return v[0]
	}
	return v[at] + float64((x-t[at])/(t[at+1]-t[at])*(v[at+1]-v[at]))
}

// doubt is the number of standard deviations beyond which a value has less
// weight (P. Huber, Robust estimation of a location parameter, 1964).
const doubt = 2.5

// weigh computes the weight of each value: larger if the channel's differences
// are smaller, and less for an outlier.
func (f *fitting) weigh(at []float64, round int) {
	for i := range f.weight {
		f.weight[i] = 1
	}
	out := make([]float64, len(f.points))
	f.residuals([][]float64{at}, [][]float64{out})
	for k := range f.channels {
		c := &f.channels[k]
		var size []float64
		squares := 0.0
		for i, p := range f.points {
			if p.channel == k && out[i] == out[i] {
				size = append(size, math.Abs(out[i]))
				squares += float64(out[i] * out[i])
			}
		}
		if round == 0 {
			c.Before = math.Sqrt(squares / float64(len(size)))
		}
		slices.Sort(size)
		spread := math.Max(1.4826*size[len(size)/2], float64(1e-9*math.Abs(f.points[0].v))+1e-12)
		c.Doubted = 0
		for i, p := range f.points {
			if p.channel != k {
				continue
			}
			f.weight[i] = 1 / spread
			if off := math.Abs(out[i]) / spread; round > 0 && off > doubt {
				f.weight[i] *= math.Sqrt(doubt / off)
				c.Doubted++
			}
		}
	}
}
