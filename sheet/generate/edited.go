package generate

import (
	"math/rand/v2"
	"regexp"
	"strings"
)

// word matches the words that Edited exchanges: numbers, operators and names of
// functions with another of the same types.
var word = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)?(?:e-?[0-9]+)?|<=|>=|<>|[<>=+\-]|\b(?:and|or|min|max|floor|ceil|sum|mean|first|last|yes|no)\b`)

// alike are words that can replace each other without a change of type.
var alike = [][]string{
	{"+", "-"},
	{"<=", ">=", "<", ">"},
	{"and", "or"},
	{"min", "max"},
	{"floor", "ceil"},
	{"sum", "mean", "min", "max", "first", "last"},
	{"yes", "no"},
}

// numbers are typical typing errors, and the edges of float64.
var numbers = []string{"0", "1", "2", "0.1", "3", "1000000", "1e-9", "1e15", "1e300", "1e-300", "0.30000000000000004", "999999999999"}

// Edited exchanges edits words of the formulas of text, chosen by seed, for
// others of the same kind. Most results of a sound worksheet are sound, unlike
// those of random bytes; others divide by zero, overflow, or compare nearly
// equal values.
func Edited(text string, edits int, seed uint64) string {
	random := rand.New(rand.NewPCG(seed, 11))
	for range edits {
		found := word.FindAllStringIndex(text, -1)
		if len(found) == 0 {
			return text
		}
		at := found[random.IntN(len(found))]
		start := strings.LastIndexByte(text[:at[0]], '\n') + 1
		if !strings.Contains(text[start:at[0]], "=") {
			continue // a name, a given or a head
		}
		text = text[:at[0]] + another(text[at[0]:at[1]], random) + text[at[1]:]
	}
	return text
}

// another returns a word of the same kind.
func another(old string, random *rand.Rand) string {
	if old[0] >= '0' && old[0] <= '9' {
		return numbers[random.IntN(len(numbers))]
	}
	for _, i := range random.Perm(len(alike)) {
		for _, w := range alike[i] {
			if w == old {
				return alike[i][random.IntN(len(alike[i]))]
			}
		}
	}
	return old
}
