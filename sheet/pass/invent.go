package pass

import (
	"io"
	"math"
	"slices"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/runlog"
)

// InventQuestion asks for a simulated log of the sheet's own pass, for trials
// without a logger and for tests.
type InventQuestion struct {
	Mapping    *check.Log
	Seed       uint64
	Rate       float64 // samples a second
	Noise      float64 // 1 is usual for loggers; 0 is none
	Faults     bool    // spikes, a gap, a channel sampled more slowly
	Delimiter  byte
	Point      byte
	UnitRow    bool
	Offset     float64 // the log's time of its first row
	Before     float64 // seconds at rest before the pass
	After      float64
	Additional []runlog.Invented
}

// noiseShare is the noise of a channel, as a part of its largest value
// (common practice, no source).
const noiseShare = 0.0015

// Invent writes such a log.
func Invent(s *sheet.Sheet, w io.Writer, q InventQuestion) error {
	r, err := s.Compute()
	if err != nil {
		return err
	}
	pass, err := computedPass(s, r, q.Mapping.Table)
	if err != nil {
		return err
	}
	v := runlog.Invention{
		Seed: q.Seed, Rate: q.Rate, Before: q.Before, After: q.After, Offset: q.Offset,
		Delimiter: q.Delimiter, Point: q.Point, UnitRow: q.UnitRow,
	}
	if q.Faults {
		v.GapAt, v.Gap, v.Spikes = 0.55*pass.End, 0.12, 3
	}
	for _, c := range q.Mapping.Channels {
		if c.Name != "time" {
			one, err := invented(s, r, &pass, c, q)
			if err != nil {
				return err
			}
			v.Channels = append(v.Channels, one)
		}
	}
	v.Channels = append(v.Channels, q.Additional...)
	return v.Write(w)
}

// invented is one channel: the sheet's column or cell, or an empty one.
func invented(s *sheet.Sheet, r *sheet.Result, pass *runlog.Pass, c check.Channel, q InventQuestion) (runlog.Invented, error) {
	ours := runlog.Series{T: []float64{0, pass.End}, V: []float64{0, 0}}
	switch {
	case c.Column != nil && pass.Channel(c.Name) != nil:
		ours = pass.Channel(c.Name).Series
	case c.Cell != nil && r.Cell(c.Cell).V == r.Cell(c.Cell).V:
		ours.V = []float64{r.Cell(c.Cell).V, r.Cell(c.Cell).V}
	}
	head := runlog.ReadHead(c.Head)
	out := runlog.Invented{Head: head.Name, Unit: c.Unit.Symbol, Series: runlog.Series{T: ours.T, V: make([]float64, ours.Len())}}
	late, err := delay(s, r, c.Name)
	if err != nil {
		return out, err
	}
	out.Series.T = slices.Clone(ours.T)
	for i := range out.Series.T {
		out.Series.T[i] += late
	}
	top := 0.0
	for i, v := range ours.V {
		out.Series.V[i] = c.Unit.Shown(v)
		top = math.Max(top, math.Abs(out.Series.V[i]))
	}
	out.Noise = q.Noise * noiseShare * top
	out.Step = math.Pow(10, math.Floor(math.Log10(math.Max(top, 1e-3)))-4)
	if c.Name == "gear" {
		out.Noise, out.Step = 0, 1
	}
	if q.Faults && c.Name == "fuel_flow" {
		out.Every = 0.05
	}
	return out, nil
}
