package whatif

import (
	"math"

	"gearleaf/sheet/program"
)

// Question asks for the value of a given at which a cell has its target.
type Question struct {
	Program *program.Program
	Base    []Setting
	Goal    Place   // the computed cell or entry
	Target  float64 // what it should be, in SI
	By      Place   // the given to move
	Lo, Hi  float64 // where to look, in SI
	// Candidates are the only values By can have, nil if it can have any in
	// Lo..Hi. Ordered says that they rise, so neighbours have a meaning.
	Candidates []float64
	Ordered    bool
}

// Point is a value of the given and the goal there.
type Point struct {
	X, Y float64
}

// Root is a place where the goal has its target; if it keeps it over an
// interval, Until is the other end of the interval, else it is X.
type Root struct {
	Point
	Until float64
}

// Answer is what Solve found.
type Answer struct {
	Roots []Root // in rising order; of candidates, those that hit the target
	// Between are, for ordered candidates, the neighbours between which the
	// goal passes its target.
	Between [][2]Point
	// Jumps are the places where the goal jumps over its target: the two sides
	// of each.
	Jumps [][2]Point
	// Nearest is the evaluated place where the goal is nearest to its target;
	// NaNs if it has no value anywhere.
	Nearest     Point
	Holes       Holes // scanned places without a value, by cause
	Scanned     int   // places evaluated before refining
	Evaluations int
}

// ScanPoints is the number of places at which Solve looks for changes of sign:
// the ends of the range and those that divide it into 256 equal parts.
const ScanPoints = 257

// Tolerances: of the target, relative to the larger of target and value, as in
// the language's comparisons; and of the end of a search, relative to its first
// bracket, beyond which it is a jump.
const (
	exact = 1e-12
	near  = 1e-9
)

// Solve scans the range (or all candidates) for changes of sign and refines
// each by Brent's method. If the goal comes near its target without passing it,
// Solve searches for a place where it touches the target.
func Solve(q Question) Answer {
	xs := q.Candidates
	if xs == nil {
		xs = Spaced(q.Lo, q.Hi, ScanPoints)
	}
	eval := NewEvaluator(q.Program, q.Base, []Place{q.By}, len(xs))
	defer eval.Close()
	s := solver{q: q, one: eval.Bench(), answer: Answer{Holes: Holes{}, Scanned: len(xs)}}
	ys := s.scan(xs)
	s.nearest(xs, ys)
	if q.Candidates != nil {
		s.candidates(xs, ys)
		return s.answer
	}
	s.refine(xs, ys)
	if len(s.answer.Roots) == 0 {
		s.closer(xs, ys)
	}
	return s.answer
}

// Spaced returns n places from lo to hi, both included.
func Spaced(lo, hi float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = lo + float64((hi-lo)*float64(i)/float64(n-1))
	}
	out[n-1] = hi
	return out
}

type solver struct {
	q      Question
	one    *Bench
	answer Answer
}

// scan returns the goal at each of xs.
func (s *solver) scan(xs []float64) []float64 {
	ys := make([]float64, len(xs))
	s.one.Run([][]float64{xs}, len(xs), func(i int, at View) {
		if ys[i] = s.q.Goal.At(at); ys[i] != ys[i] {
			s.answer.Holes[s.one.Cause(s.q.Goal, i)]++
		}
	})
	s.answer.Evaluations += len(xs)
	return ys
}

// off returns the distance of the goal from its target at x.
func (s *solver) off(x float64) float64 {
	s.answer.Evaluations++
	return s.q.Goal.At(s.one.One([]float64{x})) - s.q.Target
}

// hits reports whether f, a distance from the target, is zero.
func (s *solver) hits(f float64) bool {
	return math.Abs(f) <= exact*max(math.Abs(f+s.q.Target), math.Abs(s.q.Target))
}

// nearest keeps the scanned place nearest to the target.
func (s *solver) nearest(xs, ys []float64) {
	s.answer.Nearest = Point{math.NaN(), math.NaN()}
	for i, y := range ys {
		s.nearer(xs[i], y)
	}
}

// nearer keeps x if the goal is nearer there than anywhere before.
func (s *solver) nearer(x, y float64) {
	best := math.Abs(s.answer.Nearest.Y - s.q.Target)
	if d := math.Abs(y - s.q.Target); d < best || best != best && d == d {
		s.answer.Nearest = Point{x, y}
	}
}

// candidates evaluates values of which the given must have one.
func (s *solver) candidates(xs, ys []float64) {
	for i, y := range ys {
		f := y - s.q.Target
		if s.hits(f) {
			s.answer.Roots = append(s.answer.Roots, Root{Point{xs[i], y}, xs[i]})
			continue
		}
		if i == 0 || !s.q.Ordered {
			continue
		}
		if before := ys[i-1] - s.q.Target; !s.hits(before) && opposite(before, f) {
			s.answer.Between = append(s.answer.Between, [2]Point{{xs[i-1], ys[i-1]}, {xs[i], y}})
		}
	}
}

// opposite reports whether a and b lie on either side of 0.
func opposite(a, b float64) bool { return a < 0 && b > 0 || a > 0 && b < 0 }

// refine turns the scan into roots.
func (s *solver) refine(xs, ys []float64) {
	for i := 0; i < len(ys); i++ {
		f := ys[i] - s.q.Target
		switch {
		case s.hits(f):
			last := i
			for last+1 < len(ys) && s.hits(ys[last+1]-s.q.Target) {
				last++
			}
			s.interval(xs, ys, i, last)
			i = last
		case i > 0 && opposite(ys[i-1]-s.q.Target, f) && !s.hits(ys[i-1]-s.q.Target):
			s.bracket(xs[i-1], ys[i-1]-s.q.Target, xs[i], f)
		case i > 0 && i+1 < len(ys):
			s.touch(xs[i-1:i+2], ys[i-1:i+2])
		}
	}
}

// interval adds the root at the scanned places first..last, all of which have
// the target, and looks for the ends of it.
func (s *solver) interval(xs, ys []float64, first, last int) {
	r := Root{Point{xs[first], ys[first]}, xs[last]}
	if first == last {
		s.answer.Roots = append(s.answer.Roots, r)
		return
	}
	if first > 0 {
		r.X = s.edge(xs[first], xs[first-1])
	}
	if last+1 < len(xs) {
		r.Until = s.edge(xs[last], xs[last+1])
	}
	s.answer.Roots = append(s.answer.Roots, r)
}

// edge returns the last place between in, where the goal has its target, and
// out, where it does not, that still has it.
func (s *solver) edge(in, out float64) float64 {
	for range 60 {
		middle := in + (out-in)/2
		if middle == in || middle == out {
			break
		}
		if s.hits(s.off(middle)) {
			in = middle
		} else {
			out = middle
		}
	}
	return in
}

// bracket refines a change of sign between a and b. Zero, which a search
// approaches without reaching it, is tried separately.
func (s *solver) bracket(a, fa, b, fb float64) {
	if opposite(a, b) {
		if f := s.off(0); s.hits(f) {
			s.root(Point{0, f + s.q.Target})
			return
		}
	}
	z := brent(s.off, a, fa, b, fb)
	size := max(math.Abs(fa), math.Abs(fb))
	switch {
	case z.broken:
		s.answer.Jumps = append(s.answer.Jumps, s.sides(a, fa, b, fb))
	case s.hits(z.fx) || math.Abs(z.fx) <= near*size:
		s.root(Point{z.x, z.fx + s.q.Target})
	default:
		s.answer.Jumps = append(s.answer.Jumps, s.sides(z.x, z.fx, z.other, z.fother))
	}
}

// sides are the places on either side of a jump, the lower one first.
func (s *solver) sides(a, fa, b, fb float64) [2]Point {
	s.nearer(a, fa+s.q.Target)
	s.nearer(b, fb+s.q.Target)
	if a > b {
		a, fa, b, fb = b, fb, a, fa
	}
	return [2]Point{{a, fa + s.q.Target}, {b, fb + s.q.Target}}
}

// touch looks for a root by golden section if three places show a nearest
// approach on one side of the target. If the goal passes the target twice
// there, both places are refined.
func (s *solver) touch(xs, ys []float64) {
	side := math.Copysign(1, ys[1]-s.q.Target)
	before, at, behind := side*(ys[0]-s.q.Target), side*(ys[1]-s.q.Target), side*(ys[2]-s.q.Target)
	if !(before > 0 && behind > 0 && at <= before && at < behind) || at > 2*max(before-at, behind-at) {
		return // no extremum, or one that is far from the target even at a corner
	}
	x, f := s.approach(xs[0], xs[2], side)
	switch {
	case f != f:
	case f < 0 && !s.hits(f):
		s.bracket(xs[0], side*before, x, side*f)
		s.bracket(x, side*f, xs[2], side*behind)
	case s.hits(f) || f <= near*max(before, behind):
		s.root(Point{x, float64(side*f) + s.q.Target})
	}
}

// approach returns the place between a and b where the goal comes nearest to
// its target from one side, by golden section, and its distance there: a fault
// if there is one in between, negative if the goal passes the target.
func (s *solver) approach(a, b, side float64) (x, f float64) {
	const golden = 0.6180339887498949
	for range 80 {
		c, d := b-float64(golden*(b-a)), a+float64(golden*(b-a))
		fc, fd := side*s.off(c), side*s.off(d)
		if x, f = c, fc; fd < fc {
			x, f = d, fd
		}
		if fc != fc || fd != fd {
			return x, math.NaN()
		}
		s.nearer(x, float64(side*f)+s.q.Target)
		if f < 0 && !s.hits(f) {
			return x, f
		}
		if fc < fd {
			b = d
		} else {
			a = c
		}
	}
	return x, f
}

// closer searches for a nearer place around the nearest of the scanned ones.
func (s *solver) closer(xs, ys []float64) {
	for i, x := range xs {
		if x == s.answer.Nearest.X {
			side := math.Copysign(1, ys[i]-s.q.Target)
			s.approach(xs[max(0, i-1)], xs[min(i+1, len(xs)-1)], side)
			return
		}
	}
}

// root adds p unless the root before it is the same.
func (s *solver) root(p Point) {
	if n := len(s.answer.Roots); n > 0 && math.Abs(s.answer.Roots[n-1].Until-p.X) <= near*math.Abs(p.X) {
		return
	}
	s.answer.Roots = append(s.answer.Roots, Root{p, p.X})
}
