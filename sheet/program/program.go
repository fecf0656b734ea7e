// Package program computes one scenario of a sheet with a plain machine that runs
// the compiled form, package code.
//
// It computes the whole sheet or the dependents of changed givens, and finds the
// cause of a fault. Every operation is the kernel's and rounds its result, so
// values do not depend on how they were computed.
package program

import (
	"sync"

	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
)

// Options change how a sheet is compiled and run, never what it computes.
type Options struct {
	// Plain turns off every optimization: constant folding, common
	// subexpressions, superinstructions, hoisting of loop invariants. Tests
	// compare the two.
	Plain bool
	// Way selects how many scenarios are computed. The values do not depend on
	// it.
	Way Way
}

// Way selects how package whatif computes many scenarios of a sheet.
type Way uint8

// The ways.
const (
	Auto      Way = iota // by a module if that is worth its compile time
	ByMachine            // by machines alone
	ByModule             // by a module, if there is a compiler
)

// Program is a compiled sheet. It is immutable; machines run it.
type Program struct {
	*code.Program
	sheet *lower.Sheet
	opt   Options

	whole func() *Part // what a Run computes; the first machine that needs it makes it
}

// Compile makes the program of a checked sheet without errors and cycles.
func Compile(m *check.Model, g *graph.Graph, opt Options) *Program {
	s := lower.Lower(m, g, opt.Plain)
	p := &Program{Program: s.Code, sheet: s, opt: opt}
	p.whole = sync.OnceValue(p.all)
	return p
}

// Graph returns the graph that p was compiled from.
func (p *Program) Graph() *graph.Graph { return p.sheet.Graph }

// Model returns the checked sheet that p was compiled from.
func (p *Program) Model() *check.Model { return p.Program.Model }

// Way returns how to compute many scenarios.
func (p *Program) Way() Way { return p.opt.Way }

// Sheet returns the lowered sheet that p runs.
func (p *Program) Sheet() *lower.Sheet { return p.sheet }
