package unit

import "testing"

func BenchmarkParse(b *testing.B) {
	for name, text := range map[string]string{"Symbol": "mm", "Compound": "lb/(hp.h)"} {
		b.Run(name, func(b *testing.B) {
			s := NewSystem()
			for b.Loop() {
				if _, err := s.Parse(text); err != nil {
					b.Fatal(err.Message)
				}
			}
		})
	}
	b.Run("CompoundAnew", func(b *testing.B) {
		s := NewSystem()
		for b.Loop() {
			if _, err := s.parse("lb/(hp.h)"); err != nil {
				b.Fatal(err.Message)
			}
		}
	})
	b.Run("NearMissAnew", func(b *testing.B) {
		s := NewSystem()
		for b.Loop() {
			if _, err := s.parse("lbz/(hpp.hx)"); err == nil {
				b.Fatal("read")
			}
		}
	})
}

func BenchmarkNewSystem(b *testing.B) {
	for b.Loop() {
		if NewSystem() == nil {
			b.Fatal("no system")
		}
	}
}

func BenchmarkMul(b *testing.B) {
	s := NewSystem()
	x, y := parse(b, s, "lb/(hp.h)").Measure, parse(b, s, "kPa").Measure
	for b.Loop() {
		if _, ok := x.Mul(y); !ok {
			b.Fatal("out of bounds")
		}
	}
}

func BenchmarkFormat(b *testing.B) {
	u := parse(b, NewSystem(), "degF")
	for b.Loop() {
		if u.Format(298.15, 0.1) != "77.0 degF" {
			b.Fatal("wrong")
		}
	}
}
