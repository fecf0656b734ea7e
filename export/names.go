package export

import (
	"strconv"
	"strings"
)

// A spreadsheet's names differ from a worksheet's: they must not look like a
// cell (AFR1, up to XFD1048576) or like R1C1, or be a logical value, and names
// that differ only in case are equal.

const (
	maxNameBytes  = 255 // a defined name
	maxSheetRunes = 31  // a sheet's name
	maxNames      = 30_000
	lastColumn    = 16384
	lastRow       = 1048576
)

// nameSet makes names that are valid and differ in more than case.
type nameSet struct {
	taken map[string]bool
}

func newNameSet(reserved ...string) *nameSet {
	s := &nameSet{taken: map[string]bool{}}
	for _, r := range reserved {
		s.taken[strings.ToLower(r)] = true
	}
	return s
}

// defined returns a defined name for name: itself if a spreadsheet allows it,
// otherwise with a trailing underscore, otherwise with a number after that.
func (s *nameSet) defined(name string) string {
	base := cut(legal(name), maxNameBytes-8)
	if clashes(base) {
		base += "_"
	}
	return s.free(base, func(n int) string { return base + "_" + strconv.Itoa(n) })
}

// from returns a defined name for name, with its worksheet if the name alone is
// taken.
func (s *nameSet) from(name, worksheet string) string {
	if s.taken[strings.ToLower(legal(name))] {
		name += "_of_" + worksheet
	}
	return s.defined(name)
}

// sheet returns a name for a sheet's tab.
func (s *nameSet) sheet(name string) string {
	base := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`[]:*?/\'`, r) || r < ' ' {
			return '_'
		}
		return r
	}, name)
	if base == "" {
		base = "sheet"
	}
	base = cutRunes(base, maxSheetRunes)
	return s.free(base, func(n int) string {
		tail := " " + strconv.Itoa(n)
		return cutRunes(base, maxSheetRunes-len(tail)) + tail
	})
}

func (s *nameSet) free(first string, next func(n int) string) string {
	name := first
	for n := 2; s.taken[strings.ToLower(name)]; n++ {
		name = next(n)
	}
	s.taken[strings.ToLower(name)] = true
	return name
}

// legal replaces characters that cannot occur in a defined name by underscores.
func legal(name string) string {
	var b strings.Builder
	for i, r := range name {
		switch {
		case r == '_' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z':
			b.WriteRune(r)
		case r >= '0' && r <= '9':
			if i == 0 {
				b.WriteByte('_')
			}
			b.WriteRune(r)
		default:
			b.WriteByte('_')
		}
	}
	if b.Len() == 0 {
		return "_"
	}
	return b.String()
}

// clashes reports whether a spreadsheet reads name as something else.
func clashes(name string) bool {
	lower := strings.ToLower(name)
	return lower == "true" || lower == "false" || likeCell(lower) || likeRowColumn(lower)
}

// likeCell reports whether name, in lower case, is a reference as in a1.
func likeCell(name string) bool {
	letters := 0
	column := 0
	for letters < len(name) && name[letters] >= 'a' && name[letters] <= 'z' {
		column = column*26 + int(name[letters]-'a') + 1
		letters++
		if letters > 3 {
			return false
		}
	}
	row := name[letters:]
	if letters == 0 || column > lastColumn || !digits(row) || len(row) > 7 {
		return false
	}
	n, _ := strconv.Atoi(row)
	return n <= lastRow
}

// likeRowColumn reports whether name, in lower case, is a reference as in r,
// c, r1, r1c1 or rc.
func likeRowColumn(name string) bool {
	rest, row := strings.CutPrefix(name, "r")
	if row {
		rest = strings.TrimLeft(rest, "0123456789")
	}
	rest, column := strings.CutPrefix(rest, "c")
	if column {
		rest = strings.TrimLeft(rest, "0123456789")
	}
	return rest == "" && (row || column)
}

func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

func cut(s string, n int) string {
	if len(s) > n {
		return s[:n]
	}
	return s
}

func cutRunes(s string, n int) string {
	r := []rune(s)
	if len(r) > n {
		return string(r[:n])
	}
	return s
}

// quoteSheet returns a sheet's name for a reference.
func quoteSheet(name string) string {
	plain := !clashes(name) && legal(name) == name
	if plain {
		return name
	}
	return "'" + strings.ReplaceAll(name, "'", "''") + "'"
}

// letters returns the letters of column n, counted from 1.
func letters(n int) string {
	s := ""
	for n > 0 {
		n--
		s = string(rune('A'+n%26)) + s
		n /= 26
	}
	return s
}

// at returns the reference of a cell, as in B7.
func at(column, row int) string { return letters(column) + strconv.Itoa(row) }

// fixed returns the absolute reference of a cell, as in $B$7.
func fixed(column, row int) string {
	return "$" + letters(column) + "$" + strconv.Itoa(row)
}
