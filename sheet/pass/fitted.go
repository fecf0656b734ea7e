package pass

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
	"gearleaf/sheet/whatif"
)

// answer describes the result of the fit.
func (f *fitting) answer(e whatif.Estimate) (*Fitted, error) {
	out := &Fitted{Sheet: f.s, Logged: f.q.Logged, Channels: f.channels, Estimate: e, Before: f.q.Logged.Result}
	out.Lag = f.after(e.Values)
	wider := 1.0
	if out.Lag > 0.1 {
		wider = math.Sqrt((1 + out.Lag) / (1 - math.Min(out.Lag, 0.99)))
	}
	p := len(f.q.By)
	out.Clock, out.ClockError = e.Values[p], e.Error[p]*wider
	for i, a := range f.q.By {
		g := FittedGiven{Axis: a, Before: f.s.Current(a.Place), Error: e.Error[i] * wider, AtBound: e.AtBound[i]}
		g.Unknown = !(g.Error < (a.Hi-a.Lo)/2)
		g.Spot = f.spot(i, e.Values)
		set, d := f.s.ParseSetting(a.Name() + "=" + rounded(a.Quantity(), e.Values[i], g.Error))
		if d != nil {
			return nil, &sheet.Refusal{Diagnostic: d}
		}
		g.After = set.Value
		out.Givens = append(out.Givens, g)
		out.Settings = append(out.Settings, set)
	}
	out.pairs(e)
	settings := make([]whatif.Setting, len(out.Settings))
	for i, set := range out.Settings {
		settings[i] = set.Setting
	}
	var err error
	out.After, err = f.s.ComputeWith(settings)
	return out, err
}

// after computes the remaining differences and their lag.
func (f *fitting) after(at []float64) float64 {
	weights := slices.Clone(f.weight)
	for i := range f.weight {
		f.weight[i] = 1
	}
	out := make([]float64, len(f.points))
	f.residuals([][]float64{at}, [][]float64{out})
	f.weight = weights
	product, square := 0.0, 0.0
	for k := range f.channels {
		squares, n := 0.0, 0.0
		before := math.NaN()
		for i, p := range f.points {
			if p.channel != k || out[i] != out[i] {
				continue
			}
			squares, n = squares+float64(out[i]*out[i]), n+1
			v := out[i] * weights[i]
			if before == before {
				product, square = product+float64(v*before), square+float64(v*v)
			}
			before = v
		}
		f.channels[k].After = math.Sqrt(squares / n)
	}
	if square == 0 {
		return 0
	}
	return product / square
}

// pairs lists the givens that the data can hardly distinguish.
func (f *Fitted) pairs(e whatif.Estimate) {
	names := make([]string, 0, len(f.Givens)+1)
	for _, g := range f.Givens {
		names = append(names, g.Name())
	}
	names = append(names, ClockName)
	for i := range names {
		for j := i + 1; j < len(names); j++ {
			if r := e.Together[i][j]; math.Abs(r) >= CloseTogether {
				f.Pairs = append(f.Pairs, Pair{names[i], names[j], r})
			}
		}
	}
}

// rounded writes an SI value with its unit, to a tenth of the first digit of
// its error.
func rounded(q *check.Quantity, v, deviation float64) string {
	u := q.Unit
	shown := u.Shown(v)
	digits := 6 - int(math.Ceil(math.Log10(math.Max(math.Abs(shown), 1e-300))))
	if d := deviation / u.Scale; d > 0 && !math.IsInf(d, 0) {
		digits = 1 - int(math.Floor(math.Log10(d)))
	}
	text := ""
	if digits >= 0 {
		text = strconv.FormatFloat(shown, 'f', min(digits, 15), 64)
	} else {
		text = unit.FormatNumber(shown, math.Pow(10, float64(-digits)))
	}
	if digits > 6 {
		text = strconv.FormatFloat(shown, 'e', -1, 64)
		if r, err := strconv.ParseFloat(strconv.FormatFloat(shown, 'f', min(digits, 300), 64), 64); err == nil {
			text = strconv.FormatFloat(r, 'e', -1, 64)
		}
	}
	text = strings.TrimSuffix(text, ".")
	if u.Symbol != "" && u.Symbol != "1" {
		text += " " + u.Symbol
	}
	return text
}

// Determined reports whether the log determines every given.
func (f *Fitted) Determined() bool {
	return !slices.ContainsFunc(f.Givens, func(g FittedGiven) bool { return g.Unknown })
}

// Writable returns the settings of the givens that the log determines; all
// others, including those that it cannot distinguish, stay unchanged.
func (f *Fitted) Writable() []sheet.Setting {
	var out []sheet.Setting
	for i, g := range f.Givens {
		together := slices.ContainsFunc(f.Pairs, func(p Pair) bool {
			return math.Abs(p.Coefficient) >= Inseparable && p.B != ClockName && (p.A == g.Name() || p.B == g.Name())
		})
		if !g.Unknown && !together {
			out = append(out, f.Settings[i])
		}
	}
	return out
}

// Inseparable returns the givens that the log cannot distinguish from each other at
// all, a group each.
func (f *Fitted) Inseparable() [][]string {
	var out [][]string
	for _, direction := range f.Estimate.Open {
		var names []string
		for i, g := range f.Givens {
			if direction[i] != 0 {
				names = append(names, g.Name())
			}
		}
		if len(names) > 1 {
			out = append(out, names)
		}
	}
	return out
}

// InOpen reports whether g is one of a group that cannot be distinguished.
func (f *Fitted) InOpen(g FittedGiven) bool {
	return slices.ContainsFunc(f.Inseparable(), func(names []string) bool { return slices.Contains(names, g.Name()) })
}
