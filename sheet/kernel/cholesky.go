package kernel

import "math"

// slack is the amount by which rounding may make a zero negative.
const slack = 1e-9

// Cholesky returns the lower triangle L with L·Lᵀ = r, for a symmetric r with
// ones along its diagonal. ok is false if r is not positive semidefinite:
// then it is not a matrix of correlation coefficients.
func Cholesky(r [][]float64) (l [][]float64, ok bool) {
	l = make([][]float64, len(r))
	for i := range l {
		l[i] = make([]float64, len(r))
		for j := 0; j <= i; j++ {
			sum := r[i][j]
			for k := range j {
				sum -= float64(l[i][k] * l[j][k])
			}
			switch {
			case i == j && sum < -slack:
				return nil, false
			case i == j:
				l[i][i] = math.Sqrt(max(sum, 0))
			case l[j][j] > math.Sqrt(slack):
				l[i][j] = sum / l[j][j]
			case math.Abs(sum) > math.Sqrt(slack):
				return nil, false
			}
		}
	}
	return l, true
}
