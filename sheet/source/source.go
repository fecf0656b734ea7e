// Package source holds worksheet text and converts between offsets, lines and columns.
//
// Inside the engine a place is a byte offset (Span); line and column numbers
// are computed only for output, by File.Position.
package source

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// Span is a half-open range of byte offsets [Start, End) within one File.
type Span struct {
	Start, End int32
}

// To returns the span from the start of s to the end of t.
func (s Span) To(t Span) Span { return Span{s.Start, t.End} }

// Len returns the number of bytes in s.
func (s Span) Len() int { return int(s.End - s.Start) }

// Position is a place for people: line and column count from 1, and the
// column counts characters, not bytes.
type Position struct {
	Line, Column int
}

// File is one worksheet text with its table of lines. It is immutable.
type File struct {
	// Name is the name shown in diagnostics.
	Name string
	// Text is the whole text, CRLF line ends included.
	Text string

	lines []int32 // offset of the first byte of each line
}

// New returns a File for text. The caller has checked that text is UTF-8 and
// shorter than 2 GiB.
func New(name, text string) *File {
	lines := make([]int32, 1, strings.Count(text, "\n")+1)
	for start := 0; ; {
		n := strings.IndexByte(text[start:], '\n')
		if n < 0 {
			break
		}
		start += n + 1
		lines = append(lines, int32(start))
	}
	return &File{Name: name, Text: text, lines: lines}
}

// Slice returns the text of s.
func (f *File) Slice(s Span) string { return f.Text[s.Start:s.End] }

// Lines returns the number of lines; a last line without a line end counts.
func (f *File) Lines() int { return len(f.lines) }

// LineOf returns the line, counted from 0, that holds offset.
func (f *File) LineOf(offset int32) int {
	return sort.Search(len(f.lines), func(i int) bool { return f.lines[i] > offset }) - 1
}

// Line returns the span of line i (counted from 0) without its line end.
func (f *File) Line(i int) Span {
	start, end := f.lines[i], int32(len(f.Text))
	if i+1 < len(f.lines) {
		end = f.lines[i+1] - 1
		if end > start && f.Text[end-1] == '\r' {
			end--
		}
	}
	return Span{start, end}
}

// Position returns the line and column of offset. A byte order mark is not
// counted as a character.
func (f *File) Position(offset int32) Position {
	line := f.LineOf(offset)
	before := f.Text[f.lines[line]:offset]
	if line == 0 {
		before = strings.TrimPrefix(before, "\ufeff")
	}
	column := utf8.RuneCountInString(before) + 1
	return Position{Line: line + 1, Column: column}
}
