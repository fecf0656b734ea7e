package export

import (
	"regexp"
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
		field.Name = MarkHead(field.Name)
		tab.Fields = append(tab.Fields, field)
	}
	tab.Charts = passCharts(tab)
	return tab
}

var aMark = regexp.MustCompile(`^(elapsed|speed) (\d+)( [a-z]+)?$`)

// MarkHead returns the name of a column of a book for people. Elapsed 60 s, the
// time at 60 ft, reads as 60 seconds.
func MarkHead(name string) string {
	m := aMark.FindStringSubmatch(name)
	switch {
	case m == nil:
		return name
	case m[3] == "":
		return m[1] + " at " + m[2] + " ft"
	}
	return m[1] + " at " + m[2] + " ft," + m[3]
}

// passCharts draws numbers that differ over the number of the pass.
func passCharts(tab *Tab) []TabChart {
	x := slices.IndexFunc(tab.Fields, func(f Field) bool { return f.Name == "pass" })
	if x < 0 {
		return nil
	}
	var out []TabChart
	for i := x + 1; i < len(tab.Fields) && len(out) < mostCharted; i++ {
		text := slices.ContainsFunc(tab.Rows, func(row []any) bool { _, isText := row[i].(string); return isText })
		if s := tab.span(i); text || s.low == s.high {
			continue
		}
		y := recordColumn{Field: tab.Fields[i]}
		out = append(out, TabChart{Title: y.caption() + " by pass", XName: "pass", YName: y.named(), X: x, Y: []int{i}})
	}
	return out
}
