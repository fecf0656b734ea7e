package export

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"regexp"
	"slices"
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

// altText finds what a drawing says of a chart.
var altText = regexp.MustCompile(`<xdr:cNvPr [^>]*descr="([^"]*)"`)

// TestChartsSaySeen checks that each chart of an answer says the range of what it is over
// and of its lines, and that its lines have names a reader knows.
func TestChartsSaySeen(t *testing.T) {
	want := map[string]string{
		"answer-sweep":      `^Elapsed time at the finish over Rear sprocket\. Lines over Rear sprocket from 30 teeth to 60 teeth: Elapsed time at the finish from [\d.]+ s to [\d.]+ s, least `,
		"answer-two-givens": `^Speed on the slip over Front sprocket, 6 of 7 values of Rear sprocket\. .*: 38 teeth from [\d.]+ mph to .*, 44 teeth from `,
		"answer-many":       `^Elapsed time at the finish over Head wind.*, Rear sprocket 41 teeth\. Lines over Head wind.* from -5 mph to 5 mph: 14 teeth from `,
		"answer-random":     `^Elapsed time at the finish over Rear sprocket\. Points over Rear sprocket from 38 teeth to 44 teeth: Elapsed time at the finish from [\d.]+ s to [\d.]+ s`,
		"answer-log":        `Engine speed, sheet and log\. Lines over time since the launch from 0\.000 s to [\d.]+ s: sheet from \d+ rpm to \d+ rpm`,
		"answer-passes":     `^Elapsed time by pass\. Lines over pass from 1 to 5: `,
	}
	for name, book := range answerBooks(t) {
		var seen []string
		for _, text := range parts(t, book, "xl/drawings/drawing") {
			for _, m := range altText.FindAllStringSubmatch(string(text), -1) {
				seen = append(seen, m[1])
			}
		}
		if !slices.ContainsFunc(seen, regexp.MustCompile(want[name]).MatchString) {
			t.Errorf("%s: no chart says %s:\n%s", name, want[name], strings.Join(seen, "\n"))
		}
		for _, one := range seen {
			if title, _, _ := strings.Cut(one, "."); strings.Contains(title, "_") || !strings.Contains(one, " from ") {
				t.Errorf("%s: a chart is described as %q", name, one)
			}
		}
	}
}

// TestNoChartOfOnePoint: a book of two passes, one of them with a log, has no chart
// of the log's figures, which are those of one pass.
func TestNoChartOfOnePoint(t *testing.T) {
	tab := passesTab(Records{
		Fields: []Field{{Name: "pass"}, {Name: "elapsed_time", Unit: "s"}, {Name: "slip", Unit: "%"}},
		Rows:   [][]any{{1.0, 7.3, nil}, {2.0, 7.2, 4.1}},
	})
	if len(tab.Charts) != 1 || tab.Charts[0].Title != "Elapsed time by pass" {
		t.Errorf("%+v", tab.Charts)
	}
}
