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
