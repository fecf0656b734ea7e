package main

import (
	"fmt"
	"strings"
)

// didYouMean returns a question with the candidate nearest to word, to be
// appended to a message; empty if none is near.
func didYouMean(word string, candidates []string) string {
	if i := nearest(word, candidates); i >= 0 {
		return fmt.Sprintf(": did you mean %q?", candidates[i])
	}
	return ""
}

// nearest returns the index of the candidate that is nearest to word; -1 if
// none is near.
func nearest(word string, candidates []string) int {
	best, far := -1, len(word)/3+1
	for i, c := range candidates {
		d := steps(strings.ToLower(word), strings.ToLower(c))
		if strings.HasPrefix(c, word) && len(word) > 2 {
			d = 1
		}
		if d <= far && (best < 0 || d < far) {
			best, far = i, d
		}
	}
	return best
}

// nearOr is didYouMean, or look if no candidate is near.
func nearOr(word string, candidates []string, look string) string {
	if hint := didYouMean(word, candidates); hint != "" {
		return hint
	}
	return "; " + look
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
