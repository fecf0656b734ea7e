package export

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"strings"
	"testing"
)

// anchors are the places of the charts of a tab, in its cells.
type anchors struct {
	Anchors []struct {
		From anchorCorner `xml:"from"`
		To   anchorCorner `xml:"to"`
	} `xml:"twoCellAnchor"`
}

// anchorCorner is a corner of a chart: a cell, and how far it is inside it.
type anchorCorner struct {
	Col    int   `xml:"col"`
	ColOff int64 `xml:"colOff"`
	Row    int   `xml:"row"`
	RowOff int64 `xml:"rowOff"`
}

// before reports whether an edge is at another or before it.
func before(cell int, off int64, otherCell int, otherOff int64) bool {
	return cell < otherCell || cell == otherCell && off <= otherOff
}

// parts returns the parts of a workbook whose names begin so.
func parts(t *testing.T, book []byte, prefix string) map[string][]byte {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, file := range archive.File {
		if !strings.HasPrefix(file.Name, prefix) {
			continue
		}
		r, err := file.Open()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(r); err != nil {
			t.Fatal(err)
		}
		out[file.Name] = b.Bytes()
	}
	return out
}

// chartedBooks returns the workbooks of the samples and of answers.
func chartedBooks(t *testing.T) map[string][]byte {
	t.Helper()
	books := answerBooks(t)
	for _, s := range samples(t) {
		books[s.name], _ = s.workbook(t)
	}
	return books
}

// TestChartsApart checks that no chart of a tab covers a part of another, and
// that a page holds whole ones.
func TestChartsApart(t *testing.T) {
	pairs := 0
	for name, book := range chartedBooks(t) {
		for part, text := range parts(t, book, "xl/drawings/drawing") {
			var a anchors
			if err := xml.Unmarshal(text, &a); err != nil {
				t.Fatal(err)
			}
			for i, p := range a.Anchors {
				for j, q := range a.Anchors[:i] {
					pairs++
					beside := before(p.To.Col, p.To.ColOff, q.From.Col, q.From.ColOff) || before(q.To.Col, q.To.ColOff, p.From.Col, p.From.ColOff)
					below := before(p.To.Row, p.To.RowOff, q.From.Row, q.From.RowOff) || before(q.To.Row, q.To.RowOff, p.From.Row, p.From.RowOff)
					if !beside && !below {
						t.Errorf("%s: %s: the charts %d and %d overlap", name, part, j+1, i+1)
					}
				}
			}
		}
	}
	if pairs < 50 && *sampleNames == "" {
		t.Errorf("only %d pairs of charts", pairs)
	}
	const rowHigh, reserve = 15.0, 0.98 // points of a row that has no height of its own; for another font
	last := chartsTop - 1 + (perPage/2-1)*chartRows + chartHeight/rowPixels
	if high := titleHigh + float64(last-1)*rowHigh; high > portrait.high*100/chartsScale*reserve {
		t.Errorf("the charts of a page are %g points high", high)
	}
}

// TestChartLabelsAtEdge checks that the numbers of both axes are at the edge of
// every chart: beside an axis that crosses below zero they are among the lines.
func TestChartLabelsAtEdge(t *testing.T) {
	for name, book := range chartedBooks(t) {
		for part, text := range parts(t, book, "xl/charts/chart") {
			if n := strings.Count(string(text), `tickLblPos val="low"`); n != 2 {
				t.Errorf("%s: %s: %d of 2 axes have their labels at the edge", name, part, n)
			}
		}
	}
}
