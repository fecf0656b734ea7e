package pass

import (
	"fmt"
	"math"
	"slices"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/runlog"
	"gearleaf/sheet/unit"
)

// delayCell returns the cell of a sheet with the delay of a channel in the
// logger: speed_delay for speed. It is nil if the sheet has none.
func delayCell(s *sheet.Sheet, channel string) *check.Cell {
	c, _ := s.Model.Resolve(channel + "_delay")
	if c == nil || c.Type.Form != check.Number || c.Type.Measure.Dim != (unit.Dimension{unit.Time: {Num: 1}}) {
		return nil
	}
	return c
}

// longestDelay bounds a logger's delay: more is a mistake.
const longestDelay = 0.8 * margin

// delay returns a channel's delay in seconds.
func delay(s *sheet.Sheet, r *sheet.Result, channel string) (float64, error) {
	c := delayCell(s, channel)
	if c == nil {
		return 0, nil
	}
	v := r.Cell(c).V
	if !(math.Abs(v) <= longestDelay) {
		return 0, sheet.Refuse("%s_delay is %s: a logger is not later than %g s", channel, c.Unit.Format(v, 0), longestDelay)
	}
	return v, nil
}

func (h *Logged) readDelays() error {
	h.delays = map[string]float64{}
	for _, c := range h.Mapping.Channels {
		v, err := delay(h.Sheet, h.Result, c.Name)
		if err != nil {
			return err
		}
		h.delays[c.Name] = v
	}
	return nil
}

// noteDelays lists the channels that were moved.
func (h *Logged) noteDelays() {
	for _, c := range h.Mapping.Channels {
		if v := h.delays[c.Name]; v != 0 {
			h.Notes = append(h.Notes, fmt.Sprintf("%s: moved by %.0f ms, as %s_delay says", c.Name, -v*1000, c.Name))
		}
	}
}

// The time before the aligned launch at which a machine certainly has not
// started: a delayed speed shows the launch late. least is the number of
// samples that are enough.
const (
	surelyStanding = -0.4
	least          = 5
)

// admitBoost refuses a gauge pressure that shows the outside air's pressure
// while the machine is at rest: it is absolute. It notes one that is never near
// zero.
func (h *Logged) admitBoost() error {
	for i := range h.Mapping.Channels {
		c := &h.Mapping.Channels[i]
		if c.Type.Measure.Kind != unit.Relative || c.Type.Measure.Dim != pressure {
			continue
		}
		theirs := h.Theirs.Channel(c.Name)
		if theirs == nil {
			continue
		}
		standing := theirs.Between(math.Inf(-1), surelyStanding).V
		if len(standing) < least || slices.Min(theirs.V) <= aboutNone {
			continue
		}
		lowest, highest := slices.Min(standing), slices.Max(standing)
		if lowest >= thinnestAir && highest <= densestAir && highest-lowest <= 2*steady && slices.Min(theirs.V) >= lowest-steady {
			return h.absolute(c, (lowest+highest)/2)
		}
		h.Notes = append(h.Notes, fmt.Sprintf("%s never falls below %s, not even while the machine is at rest: is %q absolute?", c.Name, c.Unit.Format(slices.Min(theirs.V), 0), c.Head))
	}
	return nil
}

// pressure is the dimension of a pressure.
var pressure = unit.Dimension{unit.Mass: {Num: 1}, unit.Length: {Num: -1}, unit.Time: {Num: -2}}

func (h *Logged) absolute(c *check.Channel, rest float64) error {
	g := guessing{s: h.Sheet, table: h.Mapping.Table}
	_, absolute, _ := g.forms(c.Unit.Symbol)
	name := absoluteName(c.Name)
	if name == c.Name {
		name = "absolute_" + name
	}
	return &runlog.Mistake{
		File: h.File.Name, Line: h.File.Layout.HeadLine,
		Message: fmt.Sprintf("%q shows %s while the machine is at rest, the outside air's pressure: it is absolute, and %s in %s is not", c.Head, c.Unit.Format(rest, 0), c.Name, c.Unit.Symbol),
		Help:    fmt.Sprintf("write %s below log; if it is boost after all, cut the rows before the launch out of the file", offer{name, c.Head, absolute}.line(0)),
	}
}
