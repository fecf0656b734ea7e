package export

import (
	"fmt"
	"io"
	"runtime"
	"runtime/metrics"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"gearleaf/sheet/generate"
)

// benchmark writes the workbook of a sheet again and again. Beside time and
// allocations it reports the peak: how far the heap, garbage included, rose
// above what the sheet itself holds.
func benchmark(b *testing.B, s sample) {
	b.ReportAllocs()
	runtime.GC()
	before := heap()
	peak, stop := watchHeap()
	b.ResetTimer()
	for range b.N {
		if _, err := writeWorkbook(io.Discard, s.s, s.r, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.StopTimer()
	stop()
	b.ReportMetric(float64(peak.Load()-before)/(1<<20), "peak-MB")
}

// heap returns the bytes of all objects, live or not yet swept.
func heap() uint64 {
	s := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// watchHeap looks at the heap every millisecond until it is stopped.
func watchHeap() (peak *atomic.Uint64, stop func()) {
	peak = &atomic.Uint64{}
	done, gone := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(gone)
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				peak.Store(max(peak.Load(), heap()))
			}
		}
	}()
	return peak, func() { close(done); <-gone }
}

func BenchmarkTemplate(b *testing.B) {
	for _, s := range loadTemplates(b) {
		b.Run(s.name, func(b *testing.B) { benchmark(b, s) })
	}
}

func BenchmarkStepTable(b *testing.B) { benchmark(b, load(b, "steps", generate.StepTable(2000))) }

// BenchmarkTable100k writes 100,000 entries of one table.
func BenchmarkTable100k(b *testing.B) {
	var text strings.Builder
	text.WriteString("k : 2\ntable run rows 10000\n  c0 = 1.5 * k + row\n")
	for i := 1; i < 10; i++ {
		fmt.Fprintf(&text, "  c%d = c%d * 1.01 + row * k\n", i, i-1)
	}
	benchmark(b, load(b, "table", text.String()))
}

func BenchmarkLayered100k(b *testing.B) {
	benchmark(b, load(b, "layered", generate.Layered(100_000, 1)))
}
