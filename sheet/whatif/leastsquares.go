package whatif

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Unknown is a parameter that least squares may move, within its bounds.
type Unknown struct {
	Start  float64
	Lo, Hi float64 // may be infinite
	// Step is the step of its finite differences; 0 means a fraction of its
	// size suitable for a smooth function.
	Step float64
}

// Residuals evaluates a problem at several points at once: out[i] gets the
// residuals at points[i]. A residual that is NaN does not count, but it has to
// be NaN at every point or at none.
type Residuals func(points, out [][]float64)

// Estimate is the result of least squares.
type Estimate struct {
	Values   []float64
	Error    []float64 // standard errors; +Inf if the data do not determine it
	Together [][]float64
	// Open are combinations of parameters, each scaled by Sway, along which
	// the residuals do not change: the data cannot distinguish them.
	Open [][]float64
	// Sway is the move of each parameter alone that changes the residuals by
	// one in all.
	Sway        []float64
	AtBound     []bool
	Sum         float64 // of the squared residuals
	Count       int     // of residuals
	Free        int     // degrees of freedom
	Rounds      int
	Evaluations int
	Converged   bool
}

// Deviation returns the standard deviation of the residuals.
func (e *Estimate) Deviation() float64 { return math.Sqrt(e.Sum / float64(max(1, e.Free))) }

const (
	mostRounds   = 200
	mostDamped   = 40    // tries of one round
	settledStep  = 1e-12 // of a parameter's size
	settledSum   = 1e-15 // of the sum of squares
	weakestShare = 1e-7  // of the largest singular value: below it is only noise
)

// Problem is n residuals that depend on unknowns.
type Problem struct {
	Unknowns  []Unknown
	N         int
	Residuals Residuals
	// Settled is the part of the sum of squares below which an improvement is
	// ignored; 0 means as little as the precision of numbers allows.
	Settled float64
}

// LeastSquares moves the unknowns until the sum of the squares of the
// residuals is smallest: Levenberg's and Marquardt's damped steps, cut off at
// the bounds (J. Moré, The Levenberg-Marquardt algorithm, 1978, for the
// scaling by the columns of the Jacobian). The library gonum decomposes the
// matrices.
func LeastSquares(ctx context.Context, p Problem) (Estimate, error) {
	s := &squares{unknowns: p.Unknowns, f: p.Residuals, n: p.N, settled: max(p.Settled, settledSum)}
	s.at = make([]float64, len(p.Unknowns))
	for i, u := range p.Unknowns {
		s.at[i] = min(max(u.Start, u.Lo), u.Hi)
	}
	s.here = s.one(s.at)
	s.sum = sumSquares(s.here)
	damping, converged := 1e-3, false
	for !converged && s.rounds < mostRounds {
		if err := ctx.Err(); err != nil {
			return Estimate{}, err
		}
		s.rounds++
		s.differentiate()
		converged = s.descend(&damping)
	}
	s.differentiate()
	for range polish {
		if !s.polished() {
			break
		}
		s.differentiate()
	}
	return s.estimate(converged), nil
}

// polish is the number of steps without damping at the end: there the sum of
// squares is too flat to show an improvement, but the slopes are not.
const polish = 3

// polished takes one step without damping if it leaves the sum unchanged.
func (s *squares) polished() bool {
	free := s.free()
	if len(free) == 0 {
		return false
	}
	svd, singular, ok := s.decompose(free)
	if !ok {
		return false
	}
	p, moved := s.step(free, singular, s.along(svd), rightSide(svd), 0)
	r := s.one(p)
	sum := sumSquares(r)
	if moved > 1e-4 || sum > s.sum*(1+1e-10) || !s.same(r) {
		return false
	}
	s.at, s.here, s.sum = p, r, sum
	return moved > 1e-15
}

func rightSide(svd *mat.SVD) *mat.Dense {
	var v mat.Dense
	svd.VTo(&v)
	return &v
}

// along returns the residuals in the directions of the decomposition.
func (s *squares) along(svd *mat.SVD) []float64 {
	var u mat.Dense
	svd.UTo(&u)
	_, n := u.Dims()
	out := make([]float64, n)
	for c := range out {
		for r, x := range s.here {
			if x == x {
				out[c] += float64(u.At(r, c) * x)
			}
		}
	}
	return out
}

// squares is one search.
type squares struct {
	unknowns    []Unknown
	f           Residuals
	settled     float64
	n           int
	at          []float64
	here        []float64 // residuals
	sum         float64
	slope       [][]float64 // of the residuals, by parameter
	size        []float64   // lengths of slope
	rounds      int
	evaluations int
}

func (s *squares) one(p []float64) []float64 {
	out := make([]float64, s.n)
	s.evaluations++
	s.f([][]float64{p}, [][]float64{out})
	return out
}

// sumSquares returns the sum of the squares, without NaNs.
func sumSquares(r []float64) float64 {
	total := 0.0
	for _, v := range r {
		if v == v {
			total += float64(v * v)
		}
	}
	return total
}

// differentiate finds the slopes by central differences, one-sided at a
// bound.
func (s *squares) differentiate() {
	k := len(s.unknowns)
	points, out := make([][]float64, 2*k), make([][]float64, 2*k)
	for i, u := range s.unknowns {
		h := u.Step
		if h == 0 {
			h = 6e-6 * math.Abs(s.at[i])
			if h == 0 {
				h = 6e-6
			}
		}
		for side := range 2 {
			p := slices.Clone(s.at)
			p[i] = min(max(p[i]+float64(h*float64(2*side-1)), u.Lo), u.Hi)
			points[2*i+side], out[2*i+side] = p, make([]float64, s.n)
		}
	}
	s.evaluations += 2 * k
	s.f(points, out)
	s.slope, s.size = make([][]float64, k), make([]float64, k)
	for i := range s.unknowns {
		s.slope[i] = make([]float64, s.n)
		width := points[2*i+1][i] - points[2*i][i]
		for r := range s.slope[i] {
			d := (out[2*i+1][r] - out[2*i][r]) / width
			if d == d && s.here[r] == s.here[r] && width > 0 {
				s.slope[i][r] = d
			}
		}
		s.size[i] = math.Sqrt(sumSquares(s.slope[i]))
	}
}

// free returns the parameters that may move: those that are not held by a
// bound towards which the sum falls.
func (s *squares) free() []int {
	var out []int
	for i, u := range s.unknowns {
		gradient := 0.0
		for r, v := range s.here {
			if v == v {
				gradient += float64(v * s.slope[i][r])
			}
		}
		held := s.at[i] <= u.Lo && gradient > 0 || s.at[i] >= u.Hi && gradient < 0
		if s.size[i] > 0 && !held && u.Lo < u.Hi {
			out = append(out, i)
		}
	}
	return out
}

// decompose decomposes the slopes of the free parameters, each scaled to the
// length one.
func (s *squares) decompose(free []int) (*mat.SVD, []float64, bool) {
	j := mat.NewDense(s.n, len(free), nil)
	for c, i := range free {
		for r, v := range s.slope[i] {
			j.Set(r, c, v/s.size[i])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(j, mat.SVDThin) {
		return nil, nil, false
	}
	return &svd, svd.Values(nil), true
}

// descend takes one step that makes the sum smaller, damping it until it does.
// It reports whether no further improvement is possible.
func (s *squares) descend(damping *float64) bool {
	free := s.free()
	if len(free) == 0 || s.n < 1 {
		return true
	}
	svd, singular, ok := s.decompose(free)
	if !ok {
		return true
	}
	along, v := s.along(svd), rightSide(svd)
	for range mostDamped {
		p, moved := s.step(free, singular, along, v, *damping)
		if moved < settledStep {
			return true
		}
		r := s.one(p)
		sum := sumSquares(r)
		if sum < s.sum && s.same(r) {
			gained := s.sum - sum
			s.at, s.here, s.sum = p, r, sum
			*damping = max(*damping/10, 1e-16)
			return gained < s.settled*sum || sum == 0
		}
		*damping = max(*damping*4, 1e-12)
	}
	return true
}

// same reports whether the same residuals count as before.
func (s *squares) same(r []float64) bool {
	for i := range r {
		if (r[i] == r[i]) != (s.here[i] == s.here[i]) {
			return false
		}
	}
	return true
}

// step returns the end point of a damped step, and its length.
func (s *squares) step(free []int, singular, along []float64, v *mat.Dense, damping float64) (p []float64, moved float64) {
	p = slices.Clone(s.at)
	for c, i := range free {
		d := 0.0
		for k, sv := range singular {
			if sv > weakestShare*singular[0] {
				d -= float64(v.At(c, k) * sv / (float64(sv*sv) + damping) * along[k])
			}
		}
		p[i] = min(max(p[i]+d/s.size[i], s.unknowns[i].Lo), s.unknowns[i].Hi)
		scale := max(math.Abs(p[i]), math.Abs(s.at[i]))
		if scale > 0 {
			moved = max(moved, math.Abs(p[i]-s.at[i])/scale)
		}
	}
	return p, moved
}

// estimate computes the standard errors of the parameters.
func (s *squares) estimate(converged bool) Estimate {
	k := len(s.unknowns)
	e := Estimate{
		Values: s.at, Error: make([]float64, k), Sway: make([]float64, k), AtBound: make([]bool, k), Together: make([][]float64, k),
		Sum: s.sum, Rounds: s.rounds, Evaluations: s.evaluations, Converged: converged,
	}
	for _, v := range s.here {
		if v == v {
			e.Count++
		}
	}
	var free []int
	for i, u := range s.unknowns {
		e.Together[i] = make([]float64, k)
		e.Error[i], e.Sway[i] = math.Inf(1), 1/s.size[i]
		e.AtBound[i] = s.at[i] <= u.Lo || s.at[i] >= u.Hi
		if s.size[i] > 0 {
			free = append(free, i)
		} else {
			alone := make([]float64, k)
			alone[i] = 1
			e.Open = append(e.Open, alone)
		}
	}
	e.Free = e.Count - len(free)
	if len(free) > 0 {
		s.spread(&e, free)
	}
	return e
}

// spread computes the covariance from the slopes.
func (s *squares) spread(e *Estimate, free []int) {
	svd, singular, ok := s.decompose(free)
	if !ok {
		return
	}
	v, n := rightSide(svd), len(free)
	open := make([]bool, n)
	cov := mat.NewDense(n, n, nil)
	for k, sv := range singular {
		if sv <= weakestShare*singular[0] {
			s.leaveOpen(e, free, open, v, k)
			continue
		}
		for a := range n {
			for b := range n {
				cov.Set(a, b, cov.At(a, b)+v.At(a, k)*v.At(b, k)/(sv*sv))
			}
		}
	}
	deviation := e.Deviation()
	for a, i := range free {
		if !open[a] {
			e.Error[i] = deviation * math.Sqrt(cov.At(a, a)) / s.size[i]
		}
		for b, j := range free {
			if !open[a] && !open[b] {
				e.Together[i][j] = cov.At(a, b) / math.Sqrt(cov.At(a, a)*cov.At(b, b))
			}
		}
	}
}

// leaveOpen records a direction that the data do not determine.
func (s *squares) leaveOpen(e *Estimate, free []int, open []bool, v *mat.Dense, k int) {
	direction := make([]float64, len(s.unknowns))
	for c, i := range free {
		if w := v.At(c, k); math.Abs(w) > 1e-3 {
			direction[i], open[c] = w, true
		}
	}
	e.Open = append(e.Open, direction)
}
