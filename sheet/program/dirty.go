package program

import "math/bits"

// dirtySet is a set of task numbers as a bitmap; the least is taken first.
type dirtySet struct {
	words []uint64
	from  int // no word before it has a bit
}

func newDirtySet(n int) dirtySet { return dirtySet{words: make([]uint64, (n+63)/64)} }

func (d *dirtySet) add(i int32) {
	d.words[i>>6] |= 1 << (i & 63)
	d.from = min(d.from, int(i>>6))
}

// only returns the single number in the set, or -1 if there are none or
// several.
func (d *dirtySet) only() int32 {
	i := d.next()
	if i < 0 {
		return -1
	}
	several := d.next()
	if d.add(i); several >= 0 {
		d.add(several)
		return -1
	}
	return i
}

// next removes the least number from the set and returns it, or -1.
func (d *dirtySet) next() int32 {
	for ; d.from < len(d.words); d.from++ {
		if w := d.words[d.from]; w != 0 {
			d.words[d.from] = w & (w - 1)
			return int32(d.from<<6 | bits.TrailingZeros64(w))
		}
	}
	return -1
}

func (d *dirtySet) clear() {
	clear(d.words[min(d.from, len(d.words)):])
	d.from = len(d.words)
}
