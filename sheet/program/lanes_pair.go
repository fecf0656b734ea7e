package program

// The loops below do a pair in one go, in the forms that step tables are full
// of: what changes, times the step, and what was there before. Each reports
// whether all that it leaves are numbers; a first result that is none shows in
// the second, which is a sum, product or quotient of it.

// pairLanes are the pairs that have one.
var pairLanes = map[opcode]func(d []float64, a, b, c wide) bool{
	opMulAdd: mulAddLanes, opMulSub: mulSubLanes, opMulMul: mulMulLanes, opMulDiv: mulDivLanes,
}

// factors returns a product's operands as one that differs from lane to lane
// and one that does not; ok is false where there are no such.
func factors(a, b wide) (x []float64, s float64, ok bool) {
	switch {
	case b.v == nil:
		return a.v, b.s, a.v != nil
	case a.v == nil:
		return b.v, a.s, true
	}
	return nil, 0, false
}

// mulAddLanes is for x * s + y.
func mulAddLanes(d []float64, a, b, c wide) bool {
	x, s, ok := factors(a, b)
	if !ok || c.v == nil {
		return false
	}
	x = x[:len(d)]
	y := c.v[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := float64(x[0]*s)+y[0], float64(x[1]*s)+y[1], float64(x[2]*s)+y[2], float64(x[3]*s)+y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := float64(x[i]*s) + y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// mulSubLanes is for x * s - y.
func mulSubLanes(d []float64, a, b, c wide) bool {
	x, s, ok := factors(a, b)
	if !ok || c.v == nil {
		return false
	}
	x = x[:len(d)]
	y := c.v[:len(d)]
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := float64(x[0]*s)-y[0], float64(x[1]*s)-y[1], float64(x[2]*s)-y[2], float64(x[3]*s)-y[3]
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := float64(x[i]*s) - y[i]
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// mulMulLanes is for x * y * s.
func mulMulLanes(d []float64, a, b, c wide) bool {
	if a.v == nil || b.v == nil || c.v != nil {
		return false
	}
	x := a.v[:len(d)]
	y, s := b.v[:len(d)], c.s
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		y := y[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := float64(x[0]*y[0]*s), float64(x[1]*y[1]*s), float64(x[2]*y[2]*s), float64(x[3]*y[3]*s)
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := float64(x[i] * y[i] * s)
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}

// mulDivLanes is for x * s / t.
func mulDivLanes(d []float64, a, b, c wide) bool {
	x, s, ok := factors(a, b)
	if !ok || c.v != nil {
		return false
	}
	x = x[:len(d)]
	by := c.s
	var e, f, g, h float64
	i := 0
	for ; i+4 <= len(d); i += 4 {
		x := x[i : i+4 : i+4]
		d := d[i : i+4 : i+4]
		p, q, r, t := x[0]*s/by, x[1]*s/by, x[2]*s/by, x[3]*s/by
		d[0], d[1], d[2], d[3] = p, q, r, t
		e, f, g, h = e+(p-p), f+(q-q), g+(r-r), h+(t-t)
	}
	for ; i < len(d); i++ {
		p := x[i] * s / by
		d[i] = p
		e += p - p
	}
	return e+f+g+h == 0
}
