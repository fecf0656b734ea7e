package whatif

import (
	"context"
	"math"
	"math/rand/v2"

	"gearleaf/sheet/check"
	"gearleaf/sheet/program"
)

// drawn is a block of draws with the causes of missing values, by result.
type drawn struct {
	Block
	holes []Holes
}

// monteCarlo draws s.Draws points and computes their results. Every block of
// draws has its own random stream, so the draws do not depend on the worker.
func (s Spread) monteCarlo(ctx context.Context, eval *Evaluator, factor [][]float64, out []Uncertainty) error {
	samples := make([][]float64, len(s.Show))
	for k := range samples {
		samples[k] = make([]float64, 0, s.Draws)
		out[k].Holes = Holes{}
	}
	size := streamSize(s.Program, s.by())
	start := func() func(from, n int, d *drawn) {
		bench := eval.Bench()
		deviates := make([]float64, len(s.Sources))
		return func(from, n int, d *drawn) {
			s.lay(d, size)
			random := rand.New(rand.NewPCG(s.Seed, mix(uint64(from))))
			d.From, d.N = from, n
			for i := range n {
				s.draw(random, factor, deviates, d.Inputs, i)
			}
			bench.Run(d.Inputs, n, func(i int, at View) {
				d.Hole[i] = ""
				for k, p := range s.Show {
					v := p.At(at)
					if d.Shown[k][i] = v; v != v {
						cause := bench.Cause(p, i)
						d.holes[k][cause]++
						d.miss(i, p, cause)
					}
				}
			})
		}
	}
	err := inBlocks(ctx, 0, s.Draws, size, s.Workers, start, func(from, n int, d *drawn) error {
		if s.Progress != nil {
			s.Progress(from + n)
		}
		if s.Each != nil {
			if err := s.Each(&d.Block); err != nil {
				return err
			}
		}
		for k, values := range d.Shown {
			for _, v := range values[:n] {
				if v == v {
					samples[k] = append(samples[k], v)
				}
			}
			for cause, count := range d.holes[k] {
				out[k].Holes[cause] += count
			}
		}
		return nil
	})
	for k := range out {
		s.summarise(samples[k], &out[k])
	}
	return err
}

// streamSize is the number of draws from one random stream. It depends on the
// sheet alone, and so do the draws.
func streamSize(p *program.Program, by []Place) int {
	return max(8, min(256, 4<<20/Weight(p, by)))
}

// lay allocates d, or empties it.
func (s Spread) lay(d *drawn, size int) {
	if d.holes == nil {
		d.Inputs, d.Shown = columnsOf(len(s.Sources), size), columnsOf(len(s.Show), size)
		d.Hole, d.Holes, d.holes = make([]string, size), Holes{}, make([]Holes, len(s.Show))
	}
	for k := range d.holes {
		d.holes[k] = Holes{}
	}
}

// draw makes draw i of every source: normal deviates correlated by factor, each
// then given the shape of its source. A correlated rectangular source keeps its
// limits: its deviate is transformed by the normal distribution. JCGM 101:2008
// leaves the shape of their distribution open; the coefficient is the requested
// one, see normalCoefficient.
func (s Spread) draw(random *rand.Rand, factor [][]float64, z []float64, points [][]float64, i int) {
	for j, src := range s.Sources {
		if factor == nil && src.Form == check.Limits {
			points[j][i] = src.Value + float64(src.Width*(float64(2*random.Float64())-1))
			continue
		}
		z[j] = random.NormFloat64()
		g := z[j]
		if factor != nil {
			g = 0
			for k, f := range factor[j][:j+1] {
				g += float64(f * z[k])
			}
		}
		if src.Form == check.Limits {
			g = math.Erf(g / math.Sqrt2)
		}
		points[j][i] = src.Value + float64(src.Width*g)
	}
}
