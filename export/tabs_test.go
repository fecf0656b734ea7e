package export

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// TestWriteTabs: values, gaps, formats and charts of an answer with tabs.
func TestWriteTabs(t *testing.T) {
	tabs := []Tab{
		{
			Name: "Splits", Title: "Splits found",
			Records: Records{Fields: []Field{{Name: "mark", Unit: "ft"}, {Name: "who"}}, Rows: [][]any{{60.0, "=1+1"}, {nil, "log"}}},
			Steps:   []float64{1, 0},
		},
		{
			Name: "Side by side", Title: "Both",
			Records: Records{Fields: []Field{fieldIn("time", seconds), {Name: "speed sheet", Unit: "mph"}, {Name: "speed log", Unit: "mph"}}, Rows: [][]any{{0.0, 0.0, -0.1}, {0.1, 5.0, nil}, {0.2, 9.0, 9.5}}},
			Charts:  []TabChart{{Title: "speed", XName: "time, s", YName: "speed, mph", X: 0, Y: []int{1, 2}}},
		},
	}
	var out, again bytes.Buffer
	for _, w := range []*bytes.Buffer{&out, &again} {
		if err := WriteTabs(w, "A pass", tabs); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(out.Bytes(), again.Bytes()) {
		t.Error("written twice, the bytes differ")
	}
	f, err := excelize.OpenReader(bytes.NewReader(out.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]string{"Splits!A1": "Splits found", "Splits!A4": "mark", "Splits!A5": "ft", "Splits!A6": "60", "Splits!A7": "", "Splits!B6": "=1+1", "Side by side!C8": "9.5"} {
		tab, cell, _ := strings.Cut(at, "!")
		if got, err := f.GetCellValue(tab, cell); err != nil || got != want {
			t.Errorf("%s holds %q, want %q (%v)", at, got, want, err)
		}
	}
	if formula, _ := f.GetCellFormula("Splits", "B6"); formula != "" {
		t.Errorf("a text has become the formula %q", formula)
	}
	archive, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
	if err != nil {
		t.Fatal(err)
	}
	charts := 0
	for _, file := range archive.File {
		if strings.HasPrefix(file.Name, "xl/charts/chart") {
			charts++
		}
	}
	if charts != 1 {
		t.Errorf("%d charts", charts)
	}
	drawn := tabs[1].Drawn()
	if len(drawn) != 1 || len(drawn[0].Series) != 2 || len(drawn[0].Series[1].X) != 2 || drawn[0].Series[1].Y[0] != 0 {
		t.Errorf("%+v", drawn)
	}
}

// TestShareCharts: the bars of each result are over the rows of its givens, and a
// result that depends on one given has none.
func TestShareCharts(t *testing.T) {
	share := func(v float64) *float64 { return &v }
	doc := spreadJSON{Results: []resultJSON{
		{Name: "a", Contributions: []contributionJSON{{Given: "x", Share: share(1)}}},
		{Name: "of_b", Contributions: []contributionJSON{{Given: "x", Share: share(0.75)}, {Given: "y", Share: share(0.25)}}},
	}}
	tab := Tab{Name: "Spread", Records: spreadRecords(doc), Charts: shareCharts(doc)}
	if len(tab.Charts) != 1 {
		t.Fatalf("%d charts", len(tab.Charts))
	}
	c := tab.charted(tab.recordTab(""))[0]
	want := "What makes of b uncertain. Bars over given: x 0.75, y 0.25."
	if s := c.Series[0]; c.Type != excelize.Col || s.Categories != "Spread!$C$11:$C$12" || s.Values != "Spread!$H$11:$H$12" || c.Format.AltText != want {
		t.Errorf("%v over %v, %q", s.Values, s.Categories, c.Format.AltText)
	}
}
