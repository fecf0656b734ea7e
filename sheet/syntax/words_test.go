package syntax

import (
	"slices"
	"testing"
)

// TestWordsAreThoseOfTheScanner compares the lists with what the scanner knows.
func TestWordsAreThoseOfTheScanner(t *testing.T) {
	all := AllWords()
	for _, w := range all.Reserved {
		if !IsReserved(w) {
			t.Errorf("%s is not reserved", w)
		}
	}
	if len(all.Reserved) != int(lastReserved) {
		t.Errorf("%d reserved words are listed, the scanner knows %d", len(all.Reserved), lastReserved)
	}
	for _, w := range all.Clauses {
		if wordOf(w) == noWord || IsReserved(w) {
			t.Errorf("%s is no word of a clause", w)
		}
	}
	for w := word(wordRange); w <= wordY; w++ {
		if !slices.ContainsFunc(all.Clauses, func(name string) bool { return wordOf(name) == w }) {
			t.Errorf("no clause word for %d", w)
		}
	}
}
