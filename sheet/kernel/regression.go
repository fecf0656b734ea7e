package kernel

import "math"

// regression is a straight line through points by least squares, and how far
// the points lie from it.
type regression struct {
	n            int
	meanX, meanY float64
	squares      float64 // of x about its mean
	slope        float64
	residual     float64 // standard deviation of the points about the line
}

// Statistic reports whether the form reads two columns as points of a
// statistic instead of a curve.
func (f LookupForm) Statistic() bool { return f >= Slope }

// regress fits a line to the points of the curve. Squares are summed about the
// means, and residuals one by one: sums of plain squares would lose digits.
func (c *Curve) regress() {
	r := regression{n: len(c.x)}
	for i := range c.x {
		r.meanX += c.x[i]
		r.meanY += c.y[i]
	}
	r.meanX /= float64(r.n)
	r.meanY /= float64(r.n)
	products := 0.0
	for i, x := range c.x {
		d := x - r.meanX
		r.squares += float64(d * d)
		products += float64(d * (c.y[i] - r.meanY))
	}
	r.slope = products / r.squares
	sum := 0.0
	for i, x := range c.x {
		e := c.y[i] - r.meanY - float64(r.slope*(x-r.meanX))
		sum += float64(e * e)
	}
	r.residual = math.Sqrt(sum / float64(r.n-2))
	c.line = r
}

// statistic returns what the form says of the points, at x where it asks for
// one: a fault where there are too few of them.
func (c *Curve) statistic(x float64) float64 {
	if c.form == EffectiveFreedom {
		return number(c.freedom())
	}
	r := &c.line
	d := x - r.meanX
	leverage := 1/float64(r.n) + float64(d*d)/r.squares
	switch {
	case r.n < 2 || r.n < 3 && c.form != Slope && c.form != LineAt:
		return Fault
	case c.form == Slope:
		return number(r.slope)
	case c.form == LineAt:
		return number(r.meanY + float64(r.slope*d))
	case c.form == SlopeSD:
		return number(r.residual / math.Sqrt(r.squares))
	case c.form == MeanSD:
		return number(r.residual * math.Sqrt(leverage))
	case c.form == PredictionSD:
		return number(r.residual * math.Sqrt(1+leverage))
	}
	if r.squares == 0 {
		return Fault
	}
	return number(r.residual)
}

// freedom returns the effective degrees of freedom of uncertainties x with
// the degrees of freedom y, by Welch and Satterthwaite.
func (c *Curve) freedom() float64 {
	squares, fourths := 0.0, 0.0
	for i, u := range c.x {
		if !(c.y[i] > 0) {
			return Fault
		}
		square := float64(u * u)
		squares += square
		fourths += float64(square*square) / c.y[i]
	}
	return float64(squares*squares) / fourths
}
