package export

import (
	"slices"
	"strings"
)

// passesTab returns a book of passes as the tab of a workbook: columns that hold
// something, checksums by their first letters, and a chart over the passes of
// each number that differs.
func passesTab(r Records) *Tab {
	tab := &Tab{Name: "Passes", Title: "Passes", Records: Records{Rows: make([][]any, len(r.Rows))}}
	for c, field := range r.Fields {
		if !slices.ContainsFunc(r.Rows, func(row []any) bool { return row[c] != nil && row[c] != "" }) {
			continue
		}
		for i, row := range r.Rows {
			v := row[c]
			if text, ok := v.(string); ok && strings.HasSuffix(field.Name, "sha256") {
				v = cutRunes(text, 8)
			}
			tab.Rows[i] = append(tab.Rows[i], v)
		}
		tab.Fields = append(tab.Fields, field)
	}
	tab.Charts = passCharts(tab)
	return tab
}

// passCharts draws numbers that differ over the number of the pass.
func passCharts(tab *Tab) []TabChart {
	x := slices.IndexFunc(tab.Fields, func(f Field) bool { return f.Name == "pass" })
	if x < 0 {
		return nil
	}
	var out []TabChart
	for c := x + 1; c < len(tab.Fields) && len(out) < mostCharted; c++ {
		differ, text := false, false
		for _, row := range tab.Rows {
			_, isText := row[c].(string)
			text = text || isText
			differ = differ || row[c] != nil && row[c] != tab.Rows[0][c]
		}
		if differ && !text {
			y := recordColumn{Field: tab.Fields[c]}.named()
			out = append(out, TabChart{tab.Fields[c].Name + " by pass", "pass", y, x, []int{c}})
		}
	}
	return out
}
