package export

import (
	"io"
	"testing"

	"gearleaf/sheet/generate"
)

func benchmark(b *testing.B, s sample) {
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		if _, err := writeWorkbook(io.Discard, s.s, s.r, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTemplate(b *testing.B) { benchmark(b, loadTemplates(b)[0]) }

func BenchmarkStepTable(b *testing.B) { benchmark(b, load(b, "steps", generate.StepTable(2000))) }

func BenchmarkLayered100k(b *testing.B) {
	benchmark(b, load(b, "layered", generate.Layered(100_000, 1)))
}
