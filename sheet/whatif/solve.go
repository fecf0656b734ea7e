package whatif

import (
	"math"
	"slices"

	"gearleaf/sheet/check"
	"gearleaf/sheet/program"
)

// Question asks for the value of a given at which a cell has a value.
type Question struct {
	Program *program.Program
	Base    []Setting
	Goal    Place   // the computed cell or entry
	Target  float64 // what it should be, in SI
	By      Place   // the given to move
	Lo, Hi  float64 // where to look, in SI
	// Candidates are the only values By can have (whole numbers, a choice),
	// in rising order; nil when it can have any in Lo..Hi.
	Candidates []float64
}

// Point is a value of the given and what the goal is there.
type Point struct {
	X, Y float64
}

// Answer is what Solve found.
type Answer struct {
	// Roots are the places where the goal has its target: for candidates,
	// those that hit it.
	Roots []Point
	// Between are, for candidates, the neighbours between which the goal
	// passes its target.
	Between [][2]Point
	// Jumps are the places where the goal passes its target by a jump,
	// without having it.
	Jumps []Point
	// Nearest is the place seen where the goal is nearest to its target.
	Nearest Point
	// Holes counts the scanned places where the goal is no number.
	Holes int
	// Scan is the number of places looked at before refining.
	Scan        int
	Evaluations int
}

// scanPoints is the number of places at which Solve looks for sign changes.
const scanPoints = 256

// hit is how near, relative to the larger of target and value, counts as the
// target.
const hit = 1e-9

// Solve answers q: it scans the range (or all candidates) for changes of sign
// and refines each by Brent's method; where the goal comes near its target
// without passing it, it looks for a place where it touches.
func Solve(q Question) Answer {
	xs := q.Candidates
	if xs == nil {
		xs = spaced(q.Lo, q.Hi, scanPoints)
	}
	s := solver{q: q, scan: NewBench(q.Program, q.Base, []Place{q.By}, min(blockLanes, len(xs)))}
	ys := make([]float64, len(xs))
	points := make([][]float64, len(xs))
	for i, x := range xs {
		points[i] = []float64{x}
	}
	s.scan.each(points, func(i, lane int) { ys[i] = q.Goal.At(s.scan.Machine, lane) })
	s.answer.Scan = len(xs)
	s.nearest(xs, ys)
	if q.Candidates != nil {
		s.candidates(xs, ys)
	} else {
		s.one = NewBench(q.Program, q.Base, []Place{q.By}, 1)
		s.refine(xs, ys)
		s.answer.Evaluations = s.one.Evaluations
	}
	s.answer.Evaluations += s.scan.Evaluations
	return s.answer
}

// spaced returns n places from lo to hi, both included.
func spaced(lo, hi float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = lo + (hi-lo)*float64(i)/float64(n-1)
	}
	out[n-1] = hi
	return out
}

type solver struct {
	q      Question
	scan   *Bench // many lanes
	one    *Bench // one lane
	answer Answer
}

// off returns how far the goal is from its target at x.
func (s *solver) off(x float64) float64 {
	s.one.Run([][]float64{{x}})
	return s.q.Goal.At(s.one.Machine, 0) - s.q.Target
}

// hits reports whether y is the target.
func (s *solver) hits(y float64) bool {
	return math.Abs(y-s.q.Target) <= hit*max(math.Abs(y), math.Abs(s.q.Target))
}

// nearest keeps the scanned place nearest to the target, and counts holes.
func (s *solver) nearest(xs, ys []float64) {
	best := math.Inf(1)
	for i, y := range ys {
		if y != y {
			s.answer.Holes++
		} else if d := math.Abs(y - s.q.Target); d < best {
			best = d
			s.answer.Nearest = Point{xs[i], y}
		}
	}
	if best == math.Inf(1) {
		s.answer.Nearest = Point{math.NaN(), math.NaN()}
	}
}

// candidates looks through values of which the given must have one.
func (s *solver) candidates(xs, ys []float64) {
	for i, y := range ys {
		if s.hits(y) {
			s.answer.Roots = append(s.answer.Roots, Point{xs[i], y})
			continue
		}
		if i > 0 && !s.hits(ys[i-1]) && (ys[i-1]-s.q.Target)*(y-s.q.Target) < 0 {
			s.answer.Between = append(s.answer.Between, [2]Point{{xs[i-1], ys[i-1]}, {xs[i], y}})
		}
	}
}

// refine turns the scan into roots.
func (s *solver) refine(xs, ys []float64) {
	for i, y := range ys {
		f := y - s.q.Target
		switch {
		case f == 0:
			s.root(Point{xs[i], y})
		case i > 0 && (ys[i-1]-s.q.Target)*f < 0:
			s.bracket(xs[i-1], ys[i-1]-s.q.Target, xs[i], f)
		case i > 0 && i+1 < len(ys):
			s.touch(xs[i-1:i+2], ys[i-1:i+2])
		}
	}
}

// bracket refines a change of sign.
func (s *solver) bracket(a, fa, b, fb float64) {
	x, fx, ok := brent(s.off, a, fa, b, fb)
	switch {
	case !ok:
		s.answer.Holes++
	case s.hits(fx + s.q.Target):
		s.root(Point{x, fx + s.q.Target})
	default:
		s.answer.Jumps = append(s.answer.Jumps, Point{x, fx + s.q.Target})
	}
}

// touch looks for a root where three places show a nearest approach on one
// side of the target, by golden section.
func (s *solver) touch(xs, ys []float64) {
	side := math.Copysign(1, ys[1]-s.q.Target)
	near := func(y float64) float64 { return side * (y - s.q.Target) }
	if !(near(ys[0]) > 0 && near(ys[2]) > 0 && near(ys[1]) <= near(ys[0]) && near(ys[1]) < near(ys[2])) {
		return
	}
	const golden = 0.6180339887498949
	a, b := xs[0], xs[2]
	for range 60 {
		c, d := b-golden*(b-a), a+golden*(b-a)
		fc, fd := side*s.off(c), side*s.off(d)
		if fc != fc || fd != fd {
			return
		}
		if fc < fd {
			b = d
		} else {
			a = c
		}
	}
	x := (a + b) / 2
	y := s.off(x) + s.q.Target
	if math.Abs(y-s.q.Target) < math.Abs(s.answer.Nearest.Y-s.q.Target) {
		s.answer.Nearest = Point{x, y}
	}
	if s.hits(y) {
		s.root(Point{x, y})
	}
}

// root adds p unless the root before it is the same.
func (s *solver) root(p Point) {
	if n := len(s.answer.Roots); n > 0 && math.Abs(s.answer.Roots[n-1].X-p.X) <= hit*math.Abs(p.X) {
		return
	}
	s.answer.Roots = append(s.answer.Roots, p)
}

// Candidates returns the values a given can have when it is whole or has a
// choice, in rising order within lo..hi, at most limit of them; nil when it
// can have any value.
func Candidates(q *check.Quantity, lo, hi float64, limit int) []float64 {
	var out []float64
	switch {
	case len(q.Choice) > 0:
		for _, v := range q.Choice {
			if v >= lo && v <= hi {
				out = append(out, v)
			}
		}
		slices.Sort(out)
	case q.Whole:
		for v := math.Ceil(lo); v <= hi && len(out) < limit; v++ {
			out = append(out, v)
		}
	}
	return out
}
