package wasm

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// Compiled is a module compiled for this processor. Any number of goroutines
// may make instances of it.
type Compiled struct {
	source  *Module
	runtime wazero.Runtime
	module  wazero.CompiledModule
}

// ErrNoCompiler says that modules cannot be compiled here: there is no compiler
// for this processor, or no executable memory. The plain machine computes the
// same.
var ErrNoCompiler = errors.New("no compiler for WebAssembly here")

// Compile compiles a module.
func Compile(m *Module) (c *Compiled, err error) {
	defer func() { // the runtime panics if it has no compiler or no memory for one
		if p := recover(); p != nil {
			c, err = nil, fmt.Errorf("%w: %v", ErrNoCompiler, p)
		}
	}()
	ctx := context.Background()
	r := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigCompiler().WithMemoryLimitPages(1<<14))
	module, err := r.CompileModule(ctx, m.Code)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("%w: %w", ErrNoCompiler, err), r.Close(ctx))
	}
	return &Compiled{source: m, runtime: r, module: module}, nil
}

// Close frees the code and the memory of all instances.
func (c *Compiled) Close() error { return c.runtime.Close(context.Background()) }

// Instance is a module with its own memory, for one goroutine.
type Instance struct {
	*Module
	memory     []byte
	run, given api.Function
	stack      [1]uint64 // the parameter of run, then its result
	stale      bool      // entries of given columns have changed
}

// New makes an instance, which has the sheet's givens.
func (c *Compiled) New() (*Instance, error) {
	ctx := context.Background()
	module, err := c.runtime.InstantiateModule(ctx, c.module, wazero.NewModuleConfig().WithName(""))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoCompiler, err)
	}
	in := &Instance{Module: c.source, stale: true}
	in.memory, _ = module.Memory().Read(0, module.Memory().Size())
	in.run, in.given = module.ExportedFunction("run"), module.ExportedFunction("given")
	return in, nil
}

func (in *Instance) load(at int) float64 {
	return math.Float64frombits(binary.LittleEndian.Uint64(in.memory[at:]))
}

func (in *Instance) store(at int, v float64) {
	binary.LittleEndian.PutUint64(in.memory[at:], math.Float64bits(v))
}

func (in *Instance) word(at int) int { return int(binary.LittleEndian.Uint32(in.memory[at:])) }

// SetCell gives a cell a value in a lane.
func (in *Instance) SetCell(cell, lane int, v float64) { in.store(in.Cells[cell]+8*lane, v) }

// SetCells gives a cell its first values, one for each lane. The second lane has
// that of the first if there is one value.
func (in *Instance) SetCells(cell int, values []float64) {
	at := in.Cells[cell]
	in.store(at, values[0])
	if in.Lanes == 2 {
		in.store(at+8, values[min(1, len(values)-1)])
	}
}

// Cell returns the value of a cell in a lane.
func (in *Instance) Cell(cell, lane int) float64 { return in.load(in.Cells[cell] + 8*lane) }

// entry is the address of a column's entry in row (from 0).
func (in *Instance) entry(column, row, lane int) int {
	return in.Columns[column].At + 8*(row*in.Lanes+lane)
}

// SetEntry gives the entry of a column in row (from 0) a value in a lane.
func (in *Instance) SetEntry(column, row, lane int, v float64) {
	in.store(in.entry(column, row, lane), v)
	in.stale = true
}

// Stored returns the stored entry of a column in row (from 0) in a lane,
// whether or not the row is live.
func (in *Instance) Stored(column, row, lane int) float64 {
	return in.load(in.entry(column, row, lane))
}

// Live returns the number of live rows of a table in a lane, and how it ended,
// see TablePlace.
func (in *Instance) Live(table, lane int) (rows, end int) {
	t := in.Tables[table]
	return in.word(t.Live + 8*lane), in.word(t.End + 8*lane)
}

// SetLive sets the number of live rows of a table in a lane, for tables that
// the module does not compute.
func (in *Instance) SetLive(table, lane, rows, end int) {
	t := in.Tables[table]
	binary.LittleEndian.PutUint32(in.memory[t.Live+8*lane:], uint32(rows))
	binary.LittleEndian.PutUint32(in.memory[t.End+8*lane:], uint32(end))
}

// Verdict returns the outcome of a limit or an advice (after the limits) in a
// lane: its value and the deciding row, -1 for none.
func (in *Instance) Verdict(i, lane int) (value float64, row int) {
	v := in.Verdicts[i]
	return in.load(v.Value + 8*lane), int(in.load(v.Row + 8*lane))
}

// Run computes everything and returns a bit for each lane in which a general
// form ran.
func (in *Instance) Run() (careful int, err error) { return in.compute(0) }

// Care computes everything by the general forms.
func (in *Instance) Care() error {
	_, err := in.compute(1<<in.Lanes - 1)
	return err
}

func (in *Instance) compute(care uint64) (careful int, err error) {
	ctx := context.Background()
	if in.stale {
		if err := in.given.CallWithStack(ctx, in.stack[:]); err != nil {
			return 0, err
		}
		in.stale = false
	}
	in.stack[0] = care
	err = in.run.CallWithStack(ctx, in.stack[:])
	return int(int32(in.stack[0])), err
}
