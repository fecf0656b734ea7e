package whatif

import (
	"testing"

	"gearleaf/sheet/program/wasm"
)

// WithoutCompiler takes the compiler for modules away until the test ends.
func WithoutCompiler(t *testing.T) {
	compile = func(*wasm.Module) (*wasm.Compiled, error) { return nil, wasm.ErrNoCompiler }
	t.Cleanup(func() { compile = wasm.Compile })
}

// Modular reports whether a module computes the points of a bench.
func (b *Bench) Modular() bool { return b.module != nil }

// Parts is the number of parts that a bench keeps.
func (b *Bench) Parts() int { return len(b.parts) }
