package code_test

import (
	"math"
	"testing"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// TestRows checks that the row of every operation is complete: a unique name, one
// kernel function, and both forms in WebAssembly if it depends on registers alone.
func TestRows(t *testing.T) {
	names := map[string]code.Op{}
	for o := range code.Count {
		row := &code.Ops[o]
		if other, ok := names[row.Name]; row.Name == "" || ok && o != code.Call2 {
			t.Errorf("operation %d is named %q, as %d is", o, row.Name, other)
		}
		names[row.Name] = o
		paired := row.Pair != code.Pair{}
		if row.Pure() && !paired && o != code.Move && (row.Kernel == "" || row.Fast == "") {
			t.Errorf("%s: no WebAssembly", row.Name)
		}
	}
}

// TestSplit compares superinstructions with their two halves, on numbers, blanks
// and faults.
func TestSplit(t *testing.T) {
	some := []float64{0, 1, -2.5, 3, math.MaxFloat64, kernel.Blank, kernel.Fault}
	for o := range code.Count {
		row := &code.Ops[o]
		first, second, ok := code.Instr{Op: o, Dst: 9, A: 1, B: 2, C: 3, D: 4}.Split(8)
		if !ok || !row.Pure() {
			continue
		}
		for i := range 7 * 7 * 7 * 7 {
			r := [10]float64{1: some[i%7], 2: some[i/7%7], 3: some[i/49%7], 4: some[i/343]}
			want := apply(row, r[1], r[2], r[3], r[4])
			r[8] = apply(&code.Ops[first.Op], r[first.A], r[first.B], 0, 0)
			got := apply(&code.Ops[second.Op], r[second.A], r[second.B], r[second.C], 0)
			if math.Float64bits(got) != math.Float64bits(want) {
				t.Fatalf("%s of %v is %v, its halves give %v", row.Name, r[1:5], want, got)
			}
		}
	}
}

// TestDirect compares the operations that replace the call of an intrinsic with
// that call, on blanks, faults and overflows too.
func TestDirect(t *testing.T) {
	some := []float64{0, 1, -2.5, 3, math.Copysign(0, -1), 5e-324, -math.MaxFloat64, math.MaxFloat64, kernel.Blank, kernel.Fault}
	for o := range code.Count {
		row := &code.Ops[o]
		f1, _ := row.Direct.(func(float64) float64)
		f2, _ := row.Direct.(func(a, b float64) float64)
		call := kernel.Intrinsic{F1: f1, F2: f2}
		for _, a := range some {
			if f1 != nil {
				alike(t, row.Name, row.F1(a), call.Apply1(a))
			}
			for _, b := range some {
				if f2 != nil {
					alike(t, row.Name, row.F2(a, b), call.Apply2(a, b))
				}
			}
		}
	}
}

func alike(t *testing.T, name string, got, want float64) {
	t.Helper()
	if math.Float64bits(got) != math.Float64bits(want) {
		t.Errorf("%s is %v, the call it replaces is %v", name, got, want)
	}
}

func apply(row *code.Row, a, b, c, d float64) float64 {
	switch {
	case row.F1 != nil:
		return row.F1(a)
	case row.F2 != nil:
		return row.F2(a, b)
	case row.F3 != nil:
		return row.F3(a, b, c)
	}
	return row.F4(a, b, c, d)
}
