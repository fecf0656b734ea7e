package program

import "math/bits"

// dirtySet is a set of task numbers that gives the least first: a bit a task,
// and above it a bit for each word that has one.
type dirtySet struct {
	words, summary []uint64
}

func newDirtySet(n int) dirtySet {
	words := (n + 63) / 64
	return dirtySet{words: make([]uint64, words), summary: make([]uint64, (words+63)/64)}
}

func (d *dirtySet) add(i int32) {
	d.words[i>>6] |= 1 << (i & 63)
	d.summary[i>>12] |= 1 << (i >> 6 & 63)
}

// only returns the one number in the set, or -1 where there are none or
// several.
func (d *dirtySet) only() int32 {
	found := int32(-1)
	for s, summary := range d.summary {
		if summary == 0 {
			continue
		}
		w := s<<6 | bits.TrailingZeros64(summary)
		if found >= 0 || summary&(summary-1) != 0 || d.words[w]&(d.words[w]-1) != 0 {
			return -1
		}
		found = int32(w<<6 | bits.TrailingZeros64(d.words[w]))
	}
	return found
}

// next takes the least number out of the set, or returns -1.
func (d *dirtySet) next() int32 {
	for s, summary := range d.summary {
		if summary == 0 {
			continue
		}
		w := s<<6 | bits.TrailingZeros64(summary)
		i := bits.TrailingZeros64(d.words[w])
		if d.words[w] &= d.words[w] - 1; d.words[w] == 0 {
			d.summary[s] &= summary - 1
		}
		return int32(w<<6 | i)
	}
	return -1
}

func (d *dirtySet) clear() {
	clear(d.words)
	clear(d.summary)
}
