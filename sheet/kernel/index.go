package kernel

import (
	"cmp"
	"slices"
	"sort"
)

// Few keys, or keys that are read only a few times, are searched linearly;
// otherwise they are sorted first.
const fewKeys, fewPicks = 64, 16

// indexed returns the result of pick or firstAt at x by an index of the column,
// if there are enough rows and look-ups for one.
//
//translate:none
func (c *Curve) indexed(x float64) (y float64, ok bool) {
	if c.picks++; c.picks <= fewPicks || len(c.x) <= fewKeys {
		return 0, false
	}
	if c.form == Pick {
		return c.pickSorted(x), true
	}
	return c.firstReached(x), true
}

// dropIndex discards the index of another column.
//
//translate:none
func (c *Curve) dropIndex() {
	c.order, c.picks = c.order[:0], 0
	c.highest, c.lowest = c.highest[:0], c.lowest[:0]
}

// firstReached is firstAt by the extremes of the column up to each row: a
// value is met in the first row whose extremes include it.
func (c *Curve) firstReached(x float64) float64 {
	if len(c.highest) == 0 {
		c.reach()
	}
	far, met := c.highest, func(at, x float64) bool { return at >= x || Same(at, x) }
	if x < c.x[0] {
		far, met = c.lowest, func(at, x float64) bool { return at <= x || Same(at, x) }
	}
	i := sort.Search(len(far), func(i int) bool { return met(far[i], x) })
	switch {
	case i == len(far):
		return Fault
	case Same(c.x[i], x):
		return c.y[i]
	}
	return line(x, c.x[i-1], c.x[i], c.y[i-1], c.y[i])
}

// reach records the highest and the lowest value up to each row.
func (c *Curve) reach() {
	high, low := c.x[0], c.x[0]
	for _, x := range c.x {
		high, low = max(high, x), min(low, x)
		c.highest, c.lowest = append(c.highest, high), append(c.lowest, low)
	}
}

// pickSorted is pick on the sorted keys, equal ones once. If several are equal
// to key within the tolerance, the first row is the result.
func (c *Curve) pickSorted(key float64) float64 {
	if len(c.order) == 0 {
		c.sortKeys()
	}
	from, _ := slices.BinarySearchFunc(c.order, key, func(i int32, key float64) int { return cmp.Compare(c.x[i], key) })
	best := int32(len(c.x))
	for at := from; at < len(c.order) && Same(c.x[c.order[at]], key); at++ {
		best = min(best, c.order[at])
	}
	for at := from - 1; at >= 0 && Same(c.x[c.order[at]], key); at-- {
		best = min(best, c.order[at])
	}
	if int(best) == len(c.x) {
		return Fault
	}
	return c.y[best]
}

// sortKeys sorts the rows by their keys, with only the first of equal ones.
func (c *Curve) sortKeys() {
	for i := range c.x {
		c.order = append(c.order, int32(i))
	}
	slices.SortStableFunc(c.order, func(a, b int32) int { return cmp.Compare(c.x[a], c.x[b]) })
	c.order = slices.CompactFunc(c.order, func(a, b int32) bool { return c.x[a] == c.x[b] })
}
