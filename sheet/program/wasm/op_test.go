package wasm_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"gearleaf/sheet/generate"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// TestEveryOperation runs each operation that depends on registers alone, in
// one lane and in two, without care and with it, and compares the result with
// the function of its row.
func TestEveryOperation(t *testing.T) {
	for o := range code.Count {
		if row := &code.Ops[o]; row.Pure() {
			t.Run(row.Name, func(t *testing.T) { runsAsItsRow(t, o, false) })
			t.Run(row.Name+" of products", func(t *testing.T) { runsAsItsRow(t, o, true) })
		}
	}
}

// truths are the possible values of a logical operand.
var truths = []float64{0, 1, kernel.Blank, kernel.Fault}

// runsAsItsRow compares the module of one operation with its row. Lane 0 has
// numbers that the form without care is right for, so that lane 1 shows whether
// it finds those for which it is not. With products, each operand is ten times a
// cell, computed by the same code: it can be an infinity or a NaN there, which a
// cell never is.
func runsAsItsRow(t *testing.T, o code.Op, products bool) {
	s, in := oneOperation(t, o, products)
	row, edges := &code.Ops[o], generate.Operands
	for lanes := 1; lanes <= 2; lanes++ {
		module := instance(t, s, lanes)
		for i := range len(edges) * len(edges) * 4 {
			arg := [4]float64{edges[i%len(edges)], edges[i/len(edges)%len(edges)], edges[i/7%len(edges)], edges[i/3%len(edges)]}
			for cell, kind := range [...]code.Operand{row.A, row.B, row.C, row.D} {
				if kind == code.Truth {
					arg[cell] = truths[(i>>cell)%len(truths)]
				}
				v := arg[cell]
				module.SetCell(cell, 0, 1)
				module.SetCell(cell, lanes-1, v)
				if products && kind == code.Register {
					arg[cell] = kernel.Mul(v, 10)
				}
			}
			want := in.Apply(s.Code.Model, arg)
			if _, err := module.Run(); err != nil {
				t.Fatal(err)
			}
			if got := module.Cell(4, lanes-1); !sameBits(got, want) {
				t.Fatalf("%v in %d lanes is %v, want %v", arg, lanes, got, want)
			}
			if err := module.Care(); err != nil {
				t.Fatal(err)
			}
			if got := module.Cell(4, lanes-1); !sameBits(got, want) {
				t.Fatalf("%v in %d lanes, with care, is %v, want %v", arg, lanes, got, want)
			}
		}
	}
}

// sameBits reports whether two values are equal to the bit, or both a fault.
func sameBits(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || kernel.IsFault(a) && kernel.IsFault(b)
}

// oneOperation is a sheet with five givens and a cell, computed by an
// instruction of o: of four givens, or of their products with the fifth.
func oneOperation(t *testing.T, o code.Op, products bool) (*lower.Sheet, code.Instr) {
	s, ok := sheetOf(t, "a : 1\nb : 2\nc : 3\nd : 4\nx = a + b + c + d\nten : 10\ny = ten\n")
	if !ok {
		t.Fatal("it does not check")
	}
	s = lower.Lower(s.Code.Model, s.Graph, true)
	p := s.Code
	in := code.Instr{Op: o, Dst: p.Cells[4], A: p.Cells[0], B: p.Cells[1], C: p.Cells[2], D: p.Cells[3]}
	if code.Ops[o].D == code.Between {
		in.D = code.Unread
	}
	first := int32(len(p.Instrs))
	if products {
		frame := int32(len(p.Initial))
		in.Registers(func(at *int32) {
			if kind := operandOf(&in, at); kind == code.Register {
				p.Instrs = append(p.Instrs, code.Instr{Op: code.Mul, Dst: frame, A: *at, B: p.Cells[5]})
				*at = frame
				frame++
			}
		})
		p.Frame = max(p.Frame, 4)
	}
	p.Instrs = append(p.Instrs, in)
	p.Tasks[s.Graph.TaskOf(p.Model.Cells[4])].Body = code.Range{From: first, To: int32(len(p.Instrs))}
	return s, in
}

// operandOf is the kind of one of an instruction's operands.
func operandOf(in *code.Instr, at *int32) code.Operand {
	row := &code.Ops[in.Op]
	switch at {
	case &in.A:
		return row.A
	case &in.B:
		return row.B
	case &in.C:
		return row.C
	}
	return row.D
}

// TestWideFunctions compares exp, ln and powers of constant exponents, which
// have a form for two lanes, with the kernel, bit for bit.
func TestWideFunctions(t *testing.T) {
	exponents := []float64{1.4, -0.2857, 1 / 3.0, 2.5, -3.7, 12.25}
	text := "a : 1\nb : 1\ne = exp(a)\nl = ln(b)\n"
	for i, e := range exponents {
		text += fmt.Sprintf("p%d = b ^ (%v)\n", i, e)
	}
	s, ok := sheetOf(t, text)
	if !ok {
		t.Fatal("it does not check")
	}
	module, r := instance(t, s, 2), rand.New(rand.NewPCG(5, 6))
	var a, b [2]float64
	for range pairsOf(5000) {
		for lane := range a {
			a[lane], b[lane] = 800*(2*r.Float64()-1), math.Exp(700*(2*r.Float64()-1))
			if r.IntN(2) == 0 {
				a[lane], b[lane] = r.NormFloat64(), 1+r.Float64()*(r.Float64()-0.5)
			}
			module.SetCell(0, lane, a[lane])
			module.SetCell(1, lane, b[lane])
		}
		if _, err := module.Run(); err != nil {
			t.Fatal(err)
		}
		for lane := range a {
			want := []float64{kernel.Exp(a[lane]), kernel.Ln(b[lane])}
			for _, e := range exponents {
				want = append(want, kernel.Pow(b[lane], e))
			}
			for i, w := range want {
				if math.IsInf(w, 0) {
					w = kernel.Fault
				}
				if !sameBits(module.Cell(2+i, lane), w) {
					t.Fatalf("%s of %v and %v, lane %d: %v, want %v", s.Code.Model.Cells[2+i].Name, a[lane], b[lane], lane, module.Cell(2+i, lane), w)
				}
			}
		}
	}
}

// pairsOf is the number of pairs in a test; the environment sets more for the
// long run.
func pairsOf(n int) int {
	if more, err := strconv.Atoi(os.Getenv("GEARLEAF_KERNEL_INPUTS")); err == nil {
		return more / 2
	}
	return n
}
