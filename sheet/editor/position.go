// Package editor computes what a text editor shows while worksheets are typed:
// errors, values, hovers, completion, renaming. It does not contain the
// protocol.
//
// Places are byte offsets. The editors' protocol counts in UTF-16; only this
// file converts.
package editor

import (
	"unicode/utf8"

	"gearleaf/sheet/source"
)

// Position is a place as editors count it: from 0, characters in UTF-16 units.
type Position struct {
	Line      int `json:"line"`
	Character int `json:"character"`
}

// Range is from Start up to End.
type Range struct {
	Start Position `json:"start"`
	End   Position `json:"end"`
}

// PositionOf returns the position of an offset in f.
func PositionOf(f *source.File, offset int32) Position {
	offset = max(0, min(offset, int32(len(f.Text))))
	line := f.LineOf(offset)
	units := 0
	for _, r := range f.Text[f.Line(line).Start:offset] {
		units += width(r)
	}
	return Position{Line: line, Character: units}
}

// RangeOf returns the range of a span of f.
func RangeOf(f *source.File, s source.Span) Range {
	return Range{PositionOf(f, s.Start), PositionOf(f, max(s.Start, s.End))}
}

// OffsetOf returns the offset of a position in f. A position after the end of a
// line or of the text means that end.
func OffsetOf(f *source.File, p Position) int32 {
	if p.Line < 0 {
		return 0
	}
	if p.Line >= f.Lines() {
		return int32(len(f.Text))
	}
	line := f.Line(p.Line)
	at, units := line.Start, 0
	for at < line.End {
		r, size := utf8.DecodeRuneInString(f.Text[at:line.End])
		if units += width(r); units > p.Character {
			break
		}
		at += int32(size)
	}
	return at
}

// SpanOf returns the span of a range of f.
func SpanOf(f *source.File, r Range) source.Span {
	s := source.Span{Start: OffsetOf(f, r.Start), End: OffsetOf(f, r.End)}
	s.End = max(s.Start, s.End)
	return s
}

// width is the number of UTF-16 units of a character.
func width(r rune) int {
	if r >= 0x10000 {
		return 2
	}
	return 1
}
