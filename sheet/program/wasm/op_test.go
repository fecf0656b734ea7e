package wasm_test

import (
	"math"
	"testing"

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

// edges are operands at which operations go wrong.
var edges = []float64{
	0, 1, -1, 2, 0.5, -2.5, 1 + 0.5e-12, 1 + 2e-12, 1e308, -1e308, 5e-324, math.Copysign(0, -1),
	kernel.Blank, kernel.Fault,
}

// truths are what an operand that is a logical value can be.
var truths = []float64{0, 1, kernel.Blank, kernel.Fault}

// runsAsItsRow compares the module of one operation with its row. Lane 0 has
// numbers that the form without care is right for, so that lane 1 shows whether
// it finds those for which it is not. With products, each operand is ten times a
// cell, computed by the same code: it can be an infinity or a NaN there, which a
// cell never is.
func runsAsItsRow(t *testing.T, o code.Op, products bool) {
	s, in := oneOperation(t, o, products)
	row := &code.Ops[o]
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
