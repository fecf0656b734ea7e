package syntax_test

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// many returns a worksheet of n cells of the kinds that sheets have most of.
func many(n int) string {
	var b strings.Builder
	for i := range n {
		switch i % 8 {
		case 0:
			fmt.Fprintf(&b, "given_%d : %d.5 mm ± 0.1 mm  range 0..%d  \"A length\"\n", i, i%100, i+100)
		case 1:
			fmt.Fprintf(&b, "bare_%d : %d\n", i, i)
		case 7:
			fmt.Fprintf(&b, "\nchoice_%d = if bare_%d >= 3 then given_%d else 5 mm  as in to 0.01\n", i, i-6, i-7)
		default:
			fmt.Fprintf(&b, "cell_%d = given_%d * bare_%d / (2 + sqrt(bare_%d))\n", i, i-i%8, i-i%8+1, i-i%8+1)
		}
	}
	return b.String()
}

func BenchmarkParse(b *testing.B) {
	const cells = 100_000
	text := many(cells)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	w, list := syntax.Parse(source.New("x", text))
	runtime.GC()
	runtime.ReadMemStats(&after)
	if len(list) > 0 || len(w.Stmts) != cells {
		b.Fatalf("%d statements, %v", len(w.Stmts), list)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		syntax.Parse(source.New("x", text))
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/cells, "ns/cell")
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/cells, "B/cell")
	runtime.KeepAlive(w)
}

func BenchmarkPrint(b *testing.B) {
	const cells = 100_000
	w, _ := syntax.Parse(source.New("x", many(cells)))
	b.ReportAllocs()
	for b.Loop() {
		syntax.Print(w)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/cells, "ns/cell")
}
