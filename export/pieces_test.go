package export

import (
	"bytes"
	"compress/flate"
	"hash/crc32"
	"io"
	"strconv"
	"strings"
	"testing"
)

// TestPiecesAreOneStream joins pieces of every kind of length, and reads them
// back with the standard library.
func TestPiecesAreOneStream(t *testing.T) {
	p := newPieces(make(chan struct{}, 2))
	var want []byte
	for i := range 40 {
		text := strings.Repeat("row "+strconv.Itoa(i), i*i*7%3001)
		want = append(want, text...)
		p.add([]byte(text))
	}
	data, size, sum := p.join()
	got, err := io.ReadAll(flate.NewReader(bytes.NewReader(data)))
	if err != nil || !bytes.Equal(got, want) {
		t.Fatalf("%d bytes of %d are read back: %v", len(got), len(want), err)
	}
	if size != len(want) || sum != crc32.ChecksumIEEE(want) {
		t.Errorf("%d bytes with the sum %x; they are %d with %x", size, sum, len(want), crc32.ChecksumIEEE(want))
	}
}

// TestSharedFormulasAreTheOnesOfEveryRow compares a reader's expansion of a
// shared formula with the formula that the row would have by itself.
func TestSharedFormulasAreTheOnesOfEveryRow(t *testing.T) {
	shared := 0
	for _, s := range samples(t) {
		data, _ := s.workbook(t)
		g, b := readGrid(t, data), newBook(s.s, s.r)
		for _, p := range b.tables {
			for i, c := range p.t.Columns {
				if c.Given || p.columns[i].why != "" {
					continue
				}
				tab, column := p.quoted, p.column(i)
				if exact, rounded := p.exact[c]; rounded {
					tab, column = p.stepsTab, exact
				}
				_, rest := p.rowTexts(c, &p.columns[i])
				for row := 1; row < p.t.Rows; row++ {
					want := place(rest, tab, p.first+row)
					if got := g[unquoted(tab)][at(column, p.first+row)].formula; got != want {
						t.Fatalf("%s: %s.%s in row %d is %s, not %s", s.name, p.t.Name, c.Name, row, got, want)
					}
					shared++
				}
			}
		}
	}
	if shared < 10_000 {
		t.Errorf("only %d formulas were compared", shared)
	}
}
