package check_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// large writes a sheet of n cells: a tenth are givens, the rest depend on
// cells before them, some call functions of the library.
func large(n int) string {
	var b strings.Builder
	for i := range n {
		switch {
		case i%10 == 0:
			fmt.Fprintf(&b, "part_%d : %d mm range 0..1e9\n", i, i+1)
		case i%10 == 5:
			fmt.Fprintf(&b, "part_%d = road_speed(9000 rpm, 6.5, part_%d) * 1 s\n", i, i-1)
		default:
			fmt.Fprintf(&b, "part_%d = part_%d * 0.5 + part_%d\n", i, i-1, i/2)
		}
	}
	return b.String()
}

// BenchmarkCheck checks sheets of 10^5 and 250,000 cells.
func BenchmarkCheck(b *testing.B) {
	lib := library()
	for _, n := range []int{100, 100_000, 250_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			tree, list := syntax.Parse(source.New("large.leaf", large(n)))
			if list.Errors() {
				b.Fatal(list[0].Message)
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, list := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib}); list.Errors() {
					b.Fatal(list[0].Message)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/cell")
		})
	}
}
