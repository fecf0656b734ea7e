package main

import (
	"fmt"
	"strings"
)

// didYouMean returns a question with the candidate nearest to word, to be
// appended to a message; empty if none is near.
func didYouMean(word string, candidates []string) string {
	best, far := "", len(word)/3+1
	for _, c := range candidates {
		d := steps(strings.ToLower(word), strings.ToLower(c))
		if strings.HasPrefix(c, word) && len(word) > 2 {
			d = 1
		}
		if d <= far && (best == "" || d < far) {
			best, far = c, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf(": did you mean %q?", best)
}

// steps counts the letters to insert, drop, replace or swap to turn a into b.
func steps(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
