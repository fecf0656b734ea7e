package whatif

import (
	"math"

	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// freedom returns the effective degrees of freedom of a variance made of
// independent effects, by Welch and Satterthwaite; 0 for no bound.
func (s Spread) freedom(effects []float64, variance float64) float64 {
	sum := 0.0
	for i, src := range s.Sources {
		if src.Freedom > 0 {
			square := float64(effects[i] * effects[i])
			sum += float64(square*square) / src.Freedom
		}
	}
	if sum == 0 || variance <= 0 {
		return 0
	}
	return float64(variance*variance) / sum
}

// student returns the number of deviations on each side that contain a part of
// Student's distribution. With t = sqrt(freedom) tan a its density is a power
// of cos a, which is summed by Simpson's rule until the part is reached.
func student(part, freedom float64) float64 {
	above, _ := math.Lgamma((freedom + 1) / 2)
	below, _ := math.Lgamma(freedom / 2)
	whole := math.Sqrt(math.Pi) * math.Exp(below-above) // of cos^(freedom-1) between the quarter turns
	density := func(a float64) float64 { return math.Pow(math.Cos(a), freedom-1) }
	within := func(a float64) float64 {
		const pieces = 400
		h := a / pieces
		sum := density(0) + density(a)
		for i := 1; i < pieces; i++ {
			sum += float64(float64(2+2*(i%2)) * density(float64(i)*h))
		}
		return 2 * sum * h / 3 / whole
	}
	low, high := 0.0, math.Pi/2
	for range 60 {
		if a := (low + high) / 2; within(a) < part {
			low = a
		} else {
			high = a
		}
	}
	return math.Sqrt(freedom) * math.Tan(low)
}

// factor returns the lower triangle that correlates independent normal deviates
// so that the sources, each in its own shape, have the requested coefficients.
func (s Spread) factor() ([][]float64, bool) {
	normal := make([][]float64, len(s.Sources))
	for i := range normal {
		normal[i] = make([]float64, len(s.Sources))
		for j := range normal[i] {
			normal[i][j] = s.Correlation[i][j]
			if i != j {
				normal[i][j] = normalCoefficient(s.Correlation[i][j], s.Sources[i].Form, s.Sources[j].Form)
			}
		}
	}
	return kernel.Cholesky(normal)
}

// normalCoefficient returns the coefficient that two normal deviates need to
// give their sources the coefficient r. A rectangular source is its deviate
// transformed by the normal distribution, which reduces the coefficient: for
// two of them half of it is sin(pi r / 6); for one and a normal source at most
// sqrt(3/pi), 0.977, is possible.
func normalCoefficient(r float64, a, b check.ToleranceForm) float64 {
	switch {
	case a == check.Limits && b == check.Limits:
		return 2 * math.Sin(math.Pi*r/6)
	case a == check.Limits || b == check.Limits:
		return max(-1, min(1, r*math.Sqrt(math.Pi/3)))
	}
	return r
}
