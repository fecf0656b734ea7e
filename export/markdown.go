package export

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"sync"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
)

// markdown writes a sheet as a text: the verdict with what is broken, inputs,
// results, tables, limits.
type markdown struct {
	out *bufio.Writer
	s   *sheet.Sheet
	r   *sheet.Result
}

// maxMarkdownRows is the largest number of rows of a table that are written; a
// longer table has the first and the last ones.
const maxMarkdownRows = 60

// writeMarkdown writes the sheet for people.
func writeMarkdown(w io.Writer, s *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	m := &markdown{out: bufio.NewWriter(w), s: s, r: r}
	title := s.Model.Title
	if title == "" {
		title = "Worksheet"
	}
	m.print("# %s\n", escaped(title))
	m.verdict()
	if set := setRemark(SetText(s)); set != "" {
		m.print("\n%s\n", escaped(set))
	}
	for _, c := range s.Model.Cautions {
		m.print("\n> **Caution:** %s\n", escaped(c))
	}
	m.cells("Entered", true)
	m.cells("Worked out", false)
	for _, t := range ownTables(s.Model) {
		m.table(t)
	}
	m.limits()
	m.advices()
	return Report{}, m.out.Flush()
}

// verdict writes the number of broken limits, the limits, and the origins of
// faults.
func (m *markdown) verdict() {
	text, _ := m.r.Verdict()
	if text == "" {
		return
	}
	m.print("\n**%s**\n", strings.ToUpper(text[:1])+text[1:])
	gap := sync.OnceFunc(func() { m.print("\n") })
	item := func(format string, args ...any) {
		gap()
		m.print("- "+format+"\n", args...)
	}
	for _, l := range m.s.Model.Limits {
		state, row := m.r.Limit(l)
		if state != sheet.Broken {
			continue
		}
		why := ""
		if l.Message != "" {
			why = escaped(l.Message) + ": "
		}
		where := ""
		if l.Table != nil {
			where = fmt.Sprintf(" in row %d", row+1)
		}
		item("broken%s: %s`%s`, %s", where, why, l.Text, escaped(m.r.LimitNumbers(l, row)))
	}
	for _, f := range m.r.Failures() {
		item("fault: `%s`: %s", f.Origin, escaped(f.Cause))
	}
}

func (m *markdown) print(format string, args ...any) { _, _ = fmt.Fprintf(m.out, format, args...) }

// escaped escapes the special characters of Markdown and HTML in a text.
func escaped(s string) string {
	return strings.NewReplacer(
		`\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`, "`", "\\`", "<", "&lt;", ">", "&gt;",
		"[", `\[`, "]", `\]`, "#", `\#`, "\r", "", "\n", " ",
	).Replace(s)
}

func (m *markdown) cells(head string, given bool) {
	section, started := "", false
	for _, c := range ownCells(m.s.Model) {
		if c.Given != given {
			continue
		}
		if !started {
			m.print("\n## %s\n\n| | Value | Name |\n|---|---:|---|\n", head)
			started = true
		}
		if c.Origin.Section != section {
			section = c.Origin.Section
			if section != "" {
				m.print("| **%s** | | |\n", escaped(section))
			}
		}
		m.print("| %s | %s | `%s` |\n", escaped(label(&c.Quantity)), m.value(&c.Quantity, m.r.Cell(c), true), c.Name)
	}
}

// value returns a value for a Markdown table.
func (m *markdown) value(q *check.Quantity, v sheet.Value, unit bool) string {
	f := figureOf(m.s, q, v)
	switch {
	case f.fault != "":
		return "*" + escaped(f.fault) + "*"
	case unit && !f.blank:
		return escaped(m.s.Text(q, v.V))
	}
	return escaped(f.text)
}

func (m *markdown) table(t *check.Table) {
	m.print("\n## %s\n\n|", escaped(plainName(t.Name)))
	for _, c := range t.Columns {
		name := c.Name
		if u := symbol(c.Unit); u != "" {
			name += ", " + u
		}
		m.print(" %s |", escaped(name))
	}
	m.print("\n|")
	for _, c := range t.Columns {
		if c.Type.Form == check.Text {
			m.print("---|")
		} else {
			m.print("---:|")
		}
	}
	m.print("\n")
	rows, ended := m.r.Live(t)
	for row := range rows {
		if rows > maxMarkdownRows && row == maxMarkdownRows/2 {
			m.print("|%s\n", strings.Repeat(" … |", len(t.Columns)))
		}
		if rows > maxMarkdownRows && row >= maxMarkdownRows/2 && row < rows-maxMarkdownRows/2 {
			continue
		}
		m.print("|")
		for _, c := range t.Columns {
			m.print(" %s |", m.value(&c.Quantity, m.r.Entry(c, row), false))
		}
		m.print("\n")
	}
	if !ended && t.Until != 0 {
		m.print("\nThe condition that ends this table never held.\n")
	}
}

func (m *markdown) limits() {
	for i, l := range m.s.Model.Limits {
		if i == 0 {
			m.print("\n## Limits\n\n| | State | |\n|---|---|---|\n")
		}
		state, row := m.r.Limit(l)
		word := state.String()
		if state == sheet.Broken {
			word = "**" + word + "**"
		}
		if l.Table != nil && state != sheet.Kept && row >= 0 {
			word += fmt.Sprintf(" in row %d", row+1)
		}
		m.print("| `%s` | %s | %s |\n", strings.ReplaceAll(l.Text, "|", `\|`), word, escaped(l.Message))
	}
}

func (m *markdown) advices() {
	for i, a := range m.r.Advices() {
		if i == 0 {
			m.print("\n## Advice\n\n")
		}
		m.print("- `%s`: %s\n", a.Cell, escaped(a.Text))
	}
}
