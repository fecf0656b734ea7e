package check

import "math/bits"

// suggester finds the name that a mistyped one was meant to be. The result
// depends on the names alone: the nearest, then the alphabetically first.
type suggester struct {
	want string
	mask uint64
	best string
	cost int
}

func newSuggester(want string) *suggester {
	return &suggester{want: want, mask: letters(want), cost: farthest(want) + 1}
}

// farthest is the largest number of typing errors in a name of that length.
func farthest(want string) int {
	switch n := len(want); {
	case n <= 2:
		return 0
	case n <= 4:
		return 1
	case n <= 8:
		return 2
	}
	return 3
}

// letters is a set of the bytes of s, for a quick first test.
func letters(s string) uint64 {
	mask := uint64(0)
	for i := 0; i < len(s); i++ {
		mask |= 1 << (s[i] & 63)
	}
	return mask
}

// try compares one more name.
func (s *suggester) try(name string) {
	limit := s.cost
	if d := len(name) - len(s.want); d > limit || -d > limit || name == s.want {
		return
	}
	if bits.OnesCount64(letters(name)^s.mask) > 2*limit {
		return
	}
	d := distance(s.want, name, limit)
	if d < s.cost || d == s.cost && s.best != "" && name < s.best {
		s.best, s.cost = name, d
	}
}

// distance counts the typing errors between a and b: a letter added, removed,
// replaced, or two exchanged. Beyond limit it need not be exact.
func distance(a, b string, limit int) int {
	width := len(b) + 1
	rows := make([]int, 3*width)
	before, above, row := rows[:width], rows[width:2*width], rows[2*width:]
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			change := above[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			row[j] = min(above[j]+1, row[j-1]+1, change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
			least = min(least, row[j])
		}
		if least > limit {
			return least
		}
		before, above, row = above, row, before
	}
	return above[len(b)]
}

// Nearest returns the name of a cell, table or table.column that name may
// have been meant to be; empty if nothing is near.
func (m *Model) Nearest(name string) string {
	s := newSuggester(name)
	for _, c := range m.Cells {
		s.try(c.Name)
	}
	for _, t := range m.Tables {
		s.try(t.Name)
		for _, c := range t.Columns {
			s.try(t.Name + "." + c.Name)
		}
	}
	return s.best
}

// nearestFunction returns the function that name may have been meant to be.
func (c *checker) nearestFunction(name string, own bool) string {
	s := newSuggester(name)
	for _, f := range c.functions {
		if own || f.library {
			s.try(f.decl.Name.Text)
		}
	}
	for name := range c.lib.functions {
		s.try(name)
	}
	for i := range c.m.Intrinsics {
		s.try(c.m.Intrinsics[i].Name)
	}
	return s.best
}
