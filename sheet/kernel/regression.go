package kernel

import "math"

// Statistic reports whether the form reads two columns as points of a
// statistic instead of a curve.
func (f LookupForm) Statistic() bool { return f >= Slope }

// regress fits a line to the points of the curve. Squares are summed about the
// means, and residuals one by one: sums of plain squares would lose digits.
// Points with equal x have no line: the rounding of their mean is not a spread.
func (c *Curve) regress() {
	n := float64(len(c.x))
	meanX, meanY := 0.0, 0.0
	low, high := c.x[0], c.x[0]
	for i := range c.x {
		if c.x[i] < low {
			low = c.x[i]
		}
		if c.x[i] > high {
			high = c.x[i]
		}
		meanX += c.x[i]
		meanY += c.y[i]
	}
	meanX /= n
	meanY /= n
	squares, products := 0.0, 0.0
	for i, x := range c.x {
		d := x - meanX
		squares += float64(d * d)
		products += float64(d * (c.y[i] - meanY))
	}
	if Same(low, high) {
		squares = 0
	}
	slope, sum := products/squares, 0.0
	for i, x := range c.x {
		e := c.y[i] - meanY - float64(slope*(x-meanX))
		sum += float64(e * e)
	}
	c.meanX, c.meanY, c.squares, c.gradient = meanX, meanY, squares, slope
	c.residual = math.Sqrt(sum / (n - 2))
}

// statistic returns the form's statistic of the points, at x if it has one: a
// fault if there are too few points.
func (c *Curve) statistic(x float64) float64 {
	if c.form == EffectiveFreedom {
		return number(c.freedom())
	}
	n := len(c.x)
	d := x - c.meanX
	leverage := 1/float64(n) + float64(d*d)/c.squares
	switch {
	case n < 2 || n < 3 && c.form != Slope && c.form != LineAt:
		return Fault
	case c.form == Slope:
		return number(c.gradient)
	case c.form == LineAt:
		return number(c.meanY + float64(c.gradient*d))
	case c.form == SlopeSD:
		return number(c.residual / math.Sqrt(c.squares))
	case c.form == MeanSD:
		return number(c.residual * math.Sqrt(leverage))
	case c.form == PredictionSD:
		return number(c.residual * math.Sqrt(1+leverage))
	}
	if c.squares == 0 {
		return Fault
	}
	return number(c.residual)
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
