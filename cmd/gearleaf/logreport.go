package main

import (
	"fmt"
	"slices"
	"strings"

	"gearleaf/export"
	"gearleaf/export/chart"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/unit"
)

// logReport is the page of a log compared with a sheet.
type logReport struct {
	page
	h    *pass.Logged
	tabs []export.Tab
}

func (r *logReport) write(charts []string) error {
	wanted, err := r.choose(charts)
	if err != nil {
		return err
	}
	r.heading(r.h.Sheet)
	r.intro()
	for _, t := range r.tabs {
		if t.Name != "Side by side" {
			r.tab(t)
		}
	}
	for _, c := range wanted {
		fmt.Fprintln(r.w)
		fmt.Fprint(r.w, chart.Text(c, r.width, 18))
	}
	fmt.Fprintln(r.w)
	fmt.Fprintln(r.w, r.quiet(confirmedText(r.h.Result.Checked)))
	return nil
}

// intro describes the log and its alignment.
func (r *logReport) intro() {
	h := r.h
	fmt.Fprintln(r.w)
	r.hang("", fmt.Sprintf("%s: %s samples, %s", h.File.Name, grouped(h.File.Rows()), h.Layout()))
	which := ""
	if h.Passes > 1 {
		which = fmt.Sprintf("; pass %d of %d", h.Pass, h.Passes)
	}
	r.hang("", "aligned "+h.Launch.String()+which)
	for _, n := range h.Notes {
		r.finding("note", r.warn, n)
	}
}

// tab prints one table, without empty columns.
func (r *logReport) tab(t export.Tab) {
	fmt.Fprintln(r.w)
	for _, part := range wrap(t.Title, r.width) {
		fmt.Fprintln(r.w, r.bold(part))
	}
	fmt.Fprintln(r.w)
	var columns []*gridColumn
	for c, f := range t.Fields {
		g := &gridColumn{head: pageHead(f.Name), unit: f.Unit}
		step := 0.0
		if c < len(t.Steps) {
			step = t.Steps[c]
		}
		empty := true
		for _, row := range t.Rows {
			text := recordText(row[c], step)
			_, word := row[c].(string)
			g.left = g.left || word
			empty = empty && text == ""
			g.fields = append(g.fields, text)
		}
		if !empty {
			columns = append(columns, g)
		}
	}
	r.grid(columns, indent)
}

// pageHead shortens the heads of a group of three columns: the name, for the
// sheet's value; log; and off, for the difference.
func pageHead(name string) string {
	switch {
	case strings.HasSuffix(name, " log - sheet") || name == "log - sheet":
		return "off"
	case strings.HasSuffix(name, " sheet"):
		return strings.TrimSuffix(name, " sheet")
	case strings.HasSuffix(name, " log") && name != "log":
		return "log"
	}
	return name
}

// recordText is a value of a record on the page.
func recordText(v any, step float64) string {
	switch v := v.(type) {
	case float64:
		return unit.FormatNumber(v, step)
	case string:
		return v
	case bool:
		return map[bool]string{true: "yes", false: "no"}[v]
	}
	return ""
}

// choose returns the charts to draw: the named ones, or the first two.
func (r *logReport) choose(names []string) ([]chart.Chart, error) {
	side := r.tabs[len(r.tabs)-1]
	drawn := side.Drawn()
	if len(names) == 0 {
		return drawn[:min(2, len(drawn))], nil
	}
	if slices.Contains(names, "none") {
		return nil, nil
	}
	if slices.Contains(names, "all") {
		var all []chart.Chart
		for _, t := range r.tabs {
			all = append(all, t.Drawn()...)
		}
		return all, nil
	}
	var out []chart.Chart
	for _, name := range names {
		found := false
		for i, c := range side.Charts {
			if c.Channel == name {
				out, found = append(out, drawn[i]), true
			}
		}
		if !found {
			return nil, fmt.Errorf("there is no channel %q to draw: name one that sheet and log both have, all or none", name)
		}
	}
	return out, nil
}
