// Package generate writes random worksheets for tests and benchmarks: the same
// seed gives the same bytes, and every text checks without an error.
//
// Everything in it is invented.
package generate

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Options selects what a random worksheet may contain.
type Options struct {
	Seed      uint64
	Cells     int  // scalar cells, given and computed; 0 means 20
	Faults    bool // cells that cannot be computed, and cells that depend on them
	Tables    bool // tables of givens, computed columns, look-ups
	Loops     bool // step tables with prev, start and until
	Functions bool // functions of the sheet's own
	Texts     bool // text values and choices by them
	Limits    bool // limit and advise lines
}

// Everything returns Options with all switches on.
func Everything(seed uint64, cells int) Options {
	return Options{
		Seed: seed, Cells: cells, Faults: true, Tables: true, Loops: true,
		Functions: true, Texts: true, Limits: true,
	}
}

// writer is a worksheet being written.
type writer struct {
	Options
	rnd    *rand.Rand
	blocks []string // finished statements, in the order of creation
	names  int

	scope     *scope
	tables    []*table
	functions []*function
}

// Worksheet returns a random worksheet. Its statements are in any order, as
// the language allows.
func Worksheet(o Options) string {
	if o.Cells <= 0 {
		o.Cells = 20
	}
	w := &writer{Options: o, rnd: rand.New(rand.NewPCG(o.Seed, 0x6ea21eaf)), scope: &scope{}}
	w.opening()
	for made := 0; made < o.Cells; made++ {
		w.statement()
	}
	w.closing()
	return w.text()
}

// opening writes the declarations that the other statements use.
func (w *writer) opening() {
	if w.Functions {
		for range 2 + w.Cells/20 {
			w.function()
		}
	}
	if w.Texts {
		w.givenText()
	}
	for _, q := range []quantity{ratio, length, timing, truth} {
		w.given(q)
	}
}

// statement writes one cell, and sometimes a table or a limit with it.
func (w *writer) statement() {
	if w.chance(9) {
		w.aside()
	}
	switch {
	case w.Tables && w.chance(8):
		w.plainTable()
	case w.Loops && w.chance(12):
		w.stepTable()
	case w.Limits && w.chance(6):
		w.limit()
	}
	switch {
	case w.Texts && w.chance(12):
		w.givenText()
	case w.chance(4):
		w.given(w.anyQuantity())
	default:
		w.computed(w.anyQuantity())
	}
}

// closing adds what the options require and a short worksheet lacks.
func (w *writer) closing() {
	if w.Tables {
		w.plainTable()
	}
	if w.Loops {
		w.stepTable()
	}
	if w.Limits {
		w.limit()
	}
	w.computed(ratio)
}

// text joins the statements, in half of the worksheets shuffled.
func (w *writer) text() string {
	if w.chance(2) {
		w.rnd.Shuffle(len(w.blocks), func(i, j int) {
			w.blocks[i], w.blocks[j] = w.blocks[j], w.blocks[i]
		})
	}
	head := fmt.Sprintf("title \"Invented sheet %d\"\n\n", w.Seed)
	return head + strings.Join(w.blocks, "")
}

// chance is true once in n times.
func (w *writer) chance(n int) bool { return w.rnd.IntN(n) == 0 }

// name returns a new name that begins with stem.
func (w *writer) name(stem string) string {
	w.names++
	return fmt.Sprintf("%s_%d", stem, w.names)
}

// write adds one finished statement.
func (w *writer) write(format string, args ...any) {
	w.blocks = append(w.blocks, fmt.Sprintf(format, args...))
}

// choose returns one of list.
func choose[T any](w *writer, list []T) T { return list[w.rnd.IntN(len(list))] }
