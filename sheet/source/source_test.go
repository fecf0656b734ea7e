package source_test

import (
	"testing"

	"gearleaf/sheet/source"
)

func TestPosition(t *testing.T) {
	file := source.New("x", "\ufeffab\r\n±c\n\nd")
	cases := []struct {
		offset int32
		want   source.Position
	}{
		{0, source.Position{Line: 1, Column: 1}},
		{3, source.Position{Line: 1, Column: 1}},
		{5, source.Position{Line: 1, Column: 3}},
		{7, source.Position{Line: 2, Column: 1}},
		{9, source.Position{Line: 2, Column: 2}},
		{10, source.Position{Line: 2, Column: 3}},
		{11, source.Position{Line: 3, Column: 1}},
		{12, source.Position{Line: 4, Column: 1}},
		{13, source.Position{Line: 4, Column: 2}},
	}
	for _, c := range cases {
		if got := file.Position(c.offset); got != c.want {
			t.Errorf("offset %d: got %v, want %v", c.offset, got, c.want)
		}
	}
}

func TestLines(t *testing.T) {
	cases := map[string][]string{
		"":             {""},
		"a":            {"a"},
		"a\n":          {"a", ""},
		"a\r\n\nb\rc":  {"a", "", "b\rc"},
		"\n\r\n\r\r\n": {"", "", "\r", ""},
	}
	for text, want := range cases {
		file := source.New("x", text)
		if file.Lines() != len(want) {
			t.Errorf("%q: got %d lines, want %d", text, file.Lines(), len(want))
			continue
		}
		for i, line := range want {
			if got := file.Slice(file.Line(i)); got != line {
				t.Errorf("%q: line %d: got %q, want %q", text, i, got, line)
			}
		}
	}
}
