package editor

import (
	"strings"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Format returns the edits that format the document. Lines with errors do not
// change.
func (d *Document) Format() []diag.Edit {
	return lineEdits(d.File, syntax.Print(d.Tree))
}

// FormatLines returns those edits of Format that are in lines from..to.
func (d *Document) FormatLines(from, to int) []diag.Edit {
	var out []diag.Edit
	for _, e := range d.Format() {
		if first, last := d.File.LineOf(e.Span.Start), d.File.LineOf(max(e.Span.Start, e.Span.End-1)); last >= from && first <= to {
			out = append(out, e)
		}
	}
	return out
}

// FormatTyped returns the edits for the block around a line that has just been
// ended: alignment affects its neighbours too.
func (d *Document) FormatTyped(line int) []diag.Edit {
	from, to := line, line
	filled := func(i int) bool {
		return i >= 0 && i < d.File.Lines() && strings.TrimSpace(d.File.Slice(d.File.Line(i))) != ""
	}
	for filled(from - 1) {
		from--
	}
	for filled(to + 1) {
		to++
	}
	// The line with the cursor does not change.
	var out []diag.Edit
	for _, e := range d.FormatLines(from, to) {
		if d.File.LineOf(e.Span.Start) != line+1 {
			out = append(out, e)
		}
	}
	return out
}

// lineEdits returns edits that turn the text of file into after: line by line
// if both have the same number of lines, otherwise from the first line that
// differs to the last.
func lineEdits(file *source.File, after string) []diag.Edit {
	if after == file.Text {
		return nil
	}
	other := source.New("", after)
	if other.Lines() == file.Lines() {
		var out []diag.Edit
		for i := range file.Lines() {
			if a, b := file.Line(i), other.Line(i); file.Slice(a) != other.Slice(b) {
				out = append(out, diag.Edit{Span: a, New: other.Slice(b)})
			}
		}
		if len(out) > 0 && diag.Apply(file.Text, out) == after {
			return out
		}
	}
	start := 0
	for start < len(file.Text) && start < len(after) && file.Text[start] == after[start] {
		start++
	}
	start = strings.LastIndexByte(file.Text[:start], '\n') + 1
	end, to := len(file.Text), len(after)
	for end > start && to > start && file.Text[end-1] == after[to-1] {
		end, to = end-1, to-1
	}
	for end < len(file.Text) && file.Text[end-1] != '\n' {
		end, to = end+1, to+1
	}
	return []diag.Edit{{Span: source.Span{Start: int32(start), End: int32(end)}, New: after[start:to]}}
}
