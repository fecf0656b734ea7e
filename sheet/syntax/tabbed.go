package syntax

import (
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
)

// tabbed is a run of lines with tabs between their fields, as a spreadsheet
// copies cells.
type tabbed struct {
	start, end int // without the last line end
	rows       [][]string
}

// tabbedAt returns the lines from at on that have the same number of fields;
// false if they are not rows.
func (p *parser) tabbedAt(at int) (tabbed, bool) {
	t := tabbed{start: at}
	for t.start > 0 && class[p.text[t.start-1]] == classBlank {
		t.start--
	}
	indent := p.text[t.start:at]
	for pos := t.start; pos < len(p.text); {
		line, _, _ := strings.Cut(p.text[pos:], "\n")
		text := strings.TrimSuffix(line, "\r")
		row := tabFields(strings.TrimPrefix(text, indent))
		if len(row) < 2 || strings.TrimSpace(text) == "" || len(t.rows) > 0 && len(row) != len(t.rows[0]) {
			break
		}
		t.rows = append(t.rows, row)
		t.end = pos + len(text)
		pos += len(line) + 1
	}
	return t, len(t.rows) > 1
}

// tabFields splits a line at its tabs, except within a quoted text; an unpaired
// quote sign is part of its field.
func tabFields(line string) []string {
	if strings.Count(line, `"`)%2 != 0 {
		return strings.Split(line, "\t")
	}
	var fields []string
	start, quoted := 0, false
	for i := range len(line) {
		switch {
		case line[i] == '"':
			quoted = !quoted
		case line[i] == '\t' && !quoted:
			fields = append(fields, line[start:i])
			start = i + 1
		}
	}
	return append(fields, line[start:])
}

// tabbedRows reports the lines from the current token on as rows of a table,
// below a table line or with one of their own, and skips them; false if they
// are not rows.
func (p *parser) tabbedRows(below bool) bool {
	t, ok := p.tabbedAt(int(p.tok.span.Start))
	if !ok {
		return false
	}
	span := source.Span{Start: int32(t.start), End: int32(t.end)}
	text := t.grid()
	if !below {
		text = "table pasted\n" + text
	}
	for n := len(p.list); n > 0 && p.list[n-1].Span.Start >= span.Start; n-- {
		p.list = p.list[:n-1] // the diagnostic about the first word
		p.errors--
	}
	fix := diag.Repair{Title: "put bars between the fields", Edits: []diag.Edit{{Span: span, New: text}}}
	if !below {
		fix.Title = "make a table of them"
	}
	p.fail(diag.TableTabs, p.tok.span, "tabs are between the fields of "+count(len(t.rows), "line")+", as a spreadsheet copies them",
		"the rows of a table are written between bars, below a table line", fix)
	p.pos = t.end
	return true
}

// grid writes the rows between bars.
func (t *tabbed) grid() string {
	var out strings.Builder
	rows := t.rows
	barred(&out, t.heads())
	if t.hasHead() {
		rows = rows[1:]
	}
	for _, row := range rows {
		fields := make([]string, len(row))
		for i, f := range row {
			if f = strings.TrimSpace(f); strings.ContainsAny(f, `|"#`) && !strings.HasPrefix(f, `"`) {
				f = Quote(f)
			}
			fields[i] = f
		}
		out.WriteByte('\n')
		barred(&out, fields)
	}
	return out.String()
}

func barred(out *strings.Builder, fields []string) {
	out.WriteString("  |")
	for _, f := range fields {
		out.WriteString(" " + f + " |")
	}
}

// hasHead reports whether the first row names the columns.
func (t *tabbed) hasHead() bool {
	return !slices.ContainsFunc(t.rows[0], func(f string) bool {
		return strings.IndexAny(strings.TrimSpace(f), "0123456789+-.") == 0
	})
}

// heads returns a name for every column, with the unit that follows in
// brackets.
func (t *tabbed) heads() []string {
	heads, names := make([]string, len(t.rows[0])), map[string]bool{}
	for i, f := range t.rows[0] {
		unit := ""
		if !t.hasHead() {
			f = ""
		} else if open := strings.IndexAny(f, "[("); open > 0 {
			unit = " " + strings.Trim(f[open:], "[]() ")
			f = f[:open]
		}
		name := columnName(f, i)
		if names[name] {
			name += "_" + strconv.Itoa(i+1)
		}
		names[name] = true
		heads[i] = strings.TrimRight(name+unit, " ")
	}
	return heads
}

// columnName makes a name of a head.
func columnName(head string, column int) string {
	words := strings.FieldsFunc(strings.ToLower(head), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	name := strings.Join(words, "_")
	if name == "" || IsReserved(name) {
		name = "column_" + strconv.Itoa(column+1)
	}
	return name
}
