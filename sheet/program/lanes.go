package program

import "gearleaf/sheet/kernel"

// The loops below do the four operations that are most of a sheet's work.
// Slices are cut to one length, so that the compiler drops its bound checks;
// a result that is not finite goes back to the kernel, which settles it.

func addLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		addOne(d, a.v, b.s)
	case a.v == nil:
		addOne(d, b.v, a.s)
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			v := x[i] + y[i]
			if v-v != 0 {
				v = kernel.Add(x[i], y[i])
			}
			d[i] = v
		}
	}
}

func addOne(d, x []float64, s float64) {
	x = x[:len(d)]
	for i := range d {
		v := x[i] + s
		if v-v != 0 {
			v = kernel.Add(x[i], s)
		}
		d[i] = v
	}
}

func subLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		x := a.v[:len(d)]
		for i := range d {
			v := x[i] - b.s
			if v-v != 0 {
				v = kernel.Sub(x[i], b.s)
			}
			d[i] = v
		}
	case a.v == nil:
		y := b.v[:len(d)]
		for i := range d {
			v := a.s - y[i]
			if v-v != 0 {
				v = kernel.Sub(a.s, y[i])
			}
			d[i] = v
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			v := x[i] - y[i]
			if v-v != 0 {
				v = kernel.Sub(x[i], y[i])
			}
			d[i] = v
		}
	}
}

func mulLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		mulOne(d, a.v, b.s)
	case a.v == nil:
		mulOne(d, b.v, a.s)
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			v := float64(x[i] * y[i])
			if v-v != 0 {
				v = kernel.Mul(x[i], y[i])
			}
			d[i] = v
		}
	}
}

func mulOne(d, x []float64, s float64) {
	x = x[:len(d)]
	for i := range d {
		v := float64(x[i] * s)
		if v-v != 0 {
			v = kernel.Mul(x[i], s)
		}
		d[i] = v
	}
}

func divLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		x := a.v[:len(d)]
		for i := range d {
			v := x[i] / b.s
			if v-v != 0 {
				v = kernel.Div(x[i], b.s)
			}
			d[i] = v
		}
	case a.v == nil:
		y := b.v[:len(d)]
		for i := range d {
			v := a.s / y[i]
			if v-v != 0 {
				v = kernel.Div(a.s, y[i])
			}
			d[i] = v
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			v := x[i] / y[i]
			if v-v != 0 {
				v = kernel.Div(x[i], y[i])
			}
			d[i] = v
		}
	}
}

// moreEqual returns a >= b, plain cases first.
func moreEqual(a, b float64) float64 {
	switch {
	case a >= b:
		return 1
	case kernel.Below(a, b):
		return 0
	}
	return kernel.GreaterEqual(a, b)
}

// less returns a < b, plain cases first.
func less(a, b float64) float64 {
	switch {
	case a >= b:
		return 0
	case kernel.Below(a, b):
		return 1
	}
	return kernel.Less(a, b)
}

func moreEqualLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			d[i] = moreEqual(x, b.s)
		}
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			d[i] = moreEqual(a.s, y)
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			d[i] = moreEqual(x[i], y[i])
		}
	}
}

func lessLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			d[i] = less(x, b.s)
		}
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			d[i] = less(a.s, y)
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			d[i] = less(x[i], y[i])
		}
	}
}

func lessEqualLanes(d []float64, a, b wide) { moreEqualLanes(d, b, a) }

func moreLanes(d []float64, a, b wide) { lessLanes(d, b, a) }

func lowerLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			d[i] = lower(x, b.s)
		}
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			d[i] = lower(a.s, y)
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			d[i] = lower(x[i], y[i])
		}
	}
}

func higherLanes(d []float64, a, b wide) {
	switch {
	case b.v == nil:
		for i, x := range a.v[:len(d)] {
			d[i] = higher(x, b.s)
		}
	case a.v == nil:
		for i, y := range b.v[:len(d)] {
			d[i] = higher(a.s, y)
		}
	default:
		x, y := a.v[:len(d)], b.v[:len(d)]
		for i := range d {
			d[i] = higher(x[i], y[i])
		}
	}
}

// ifLanes chooses between b and c by a, which differs from lane to lane.
func ifLanes(d []float64, a []float64, b, c wide) {
	a = a[:len(d)]
	for i, cond := range a {
		switch cond {
		case 1:
			d[i] = b.at(i)
		case 0:
			d[i] = c.at(i)
		default:
			d[i] = kernel.If(cond, 0, 0)
		}
	}
}

// at returns the value in lane i.
func (w wide) at(i int) float64 {
	if w.v == nil {
		return w.s
	}
	return w.v[i]
}
