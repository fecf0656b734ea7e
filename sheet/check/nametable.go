package check

import (
	"hash/maphash"
	"math/bits"

	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// nameTable finds what a name of the sheet stands for: a cell's index, or the
// complement of a table's. It is a hash table with one probe sequence and no
// removal: at a million names, a map of the language's own is the slowest
// part of a check.
//
// What costs time is memory that is far away. So a byte of each slot's hash
// stands apart from the rest and tells most slots from one another; while a
// sheet is checked, the key of each cell's name stands in a list, and a name
// of up to eight letters is its own key: neither the cell nor the text is
// looked at. And because formulas mostly look at cells nearby, the names met
// last are kept in a small table in front, which stays in the processor's
// nearest memory.
type nameTable struct {
	m     *Model
	tags  []uint8 // of the slots, 0 where one is empty; a power of two, at most three quarters full
	ids   []int32 // what stands in the slots
	shift int     // takes a hash to its first slot
	used  int

	keys    []nameKey    // of the names of cells
	recent  []recentName // a power of two
	missed  missedName
	fetched int32 // of no meaning: see fetch
}

type recentName struct {
	key nameKey // 0 where nothing has been met
	id  int32
}

// missedName is the last name that was not found, and the slot where it would
// go; a key of 0 is none.
type missedName struct {
	key nameKey
	at  uint32
}

// mostRecent is how many names are kept in front of a large table.
const mostRecent = 1 << 13

// newNameTable returns a table with room for n names.
func newNameTable(m *Model, n int) *nameTable {
	size := 16
	for size*3 < n*4 {
		size *= 2
	}
	t := &nameTable{m: m, keys: make([]nameKey, 0, n), recent: make([]recentName, min(size, mostRecent))}
	t.makeSlots(size)
	return t
}

func (t *nameTable) makeSlots(size int) {
	t.tags, t.ids = make([]uint8, size), make([]int32, size)
	t.shift = 32 - bits.TrailingZeros(uint(size))
}

// close lets go of what only a check needs. A closed table does not change.
func (t *nameTable) close() { t.keys, t.recent, t.missed = nil, nil, missedName{} }

// reader returns a table with the same names, which can be asked beside t.
func (t *nameTable) reader() *nameTable {
	r := *t
	r.recent = make([]recentName, len(t.recent))
	return &r
}

// nameKey is a name of up to eight letters, or the hash of a longer one, whose
// top bit is set. It is never 0.
type nameKey uint64

const longName nameKey = 1 << 63

var (
	nameSeed = maphash.MakeSeed()
	nameSalt = maphash.String(nameSeed, "salt")
	nameMix  = maphash.String(nameSeed, "mix") | 1
)

// keyOf returns the key of name. The top byte of a short one is a letter, or
// one more than its length.
func keyOf(name string) nameKey {
	if len(name) > 8 {
		return nameKey(maphash.String(nameSeed, name)) | longName
	}
	key := uint64(0)
	for i := range len(name) {
		key |= uint64(name[i]) << (8 * i)
	}
	switch {
	case len(name) < 8:
		key |= uint64(len(name)+1) << 56
	case name[7] < ' ':
		return nameKey(maphash.String(nameSeed, name)) | longName // none that a sheet without errors has
	}
	if key&0x80_80_80_80_80_80_80_80 != 0 {
		return nameKey(maphash.String(nameSeed, name)) | longName
	}
	return nameKey(key)
}

// keyIn returns the key of the name from from up to to in text, which is one
// that a sheet without errors has.
func keyIn(text string, from, to int) nameKey {
	n := to - from
	if n > 8 || from+8 > len(text) {
		return keyOf(text[from:to])
	}
	b := text[from : from+8]
	key := uint64(b[0]) | uint64(b[1])<<8 | uint64(b[2])<<16 | uint64(b[3])<<24 | uint64(b[4])<<32 | uint64(b[5])<<40 | uint64(b[6])<<48 | uint64(b[7])<<56
	if n == 8 {
		return nameKey(key)
	}
	return nameKey(key&(1<<(8*n)-1) | uint64(n+1)<<56)
}

// hash mixes a key with what nobody can guess.
func (k nameKey) hash() uint32 {
	hi, lo := bits.Mul64(uint64(k)^nameSalt, nameMix)
	return uint32((hi ^ lo) >> 32)
}

// tagOf returns the byte of a hash that stands in its slot.
func tagOf(hash uint32) uint8 { return uint8(hash) | 0x80 }

// nameOf returns the name that id stands for.
func (t *nameTable) nameOf(id int32) string {
	if id < 0 {
		return t.m.Tables[^id].Name
	}
	return t.m.Cells[id].Name
}

// is reports whether id has a name with that key, which is text where it is
// long.
func (t *nameTable) is(id int32, name string, key nameKey) bool {
	if uint(id) < uint(len(t.keys)) && (key < longName || t.keys[id] != key) {
		return t.keys[id] == key
	}
	return t.nameOf(id) == name
}

// slot returns the slot of name, or the empty one where it would go.
func (t *nameTable) slot(name string, key nameKey, hash uint32) (at uint32, known bool) {
	mask, tag := uint32(len(t.tags)-1), tagOf(hash)
	for at = hash >> t.shift; ; at = (at + 1) & mask {
		switch t.tags[at] {
		case 0:
			return at, false
		case tag:
			if t.is(t.ids[at], name, key) {
				return at, true
			}
		}
	}
}

// front returns the place of a name in the table in front.
func (t *nameTable) front(hash uint32) *recentName {
	return &t.recent[hash>>7&uint32(len(t.recent)-1)]
}

// meet keeps the name of a cell, which is likely to be asked for soon.
func (t *nameTable) meet(id int32) {
	key := t.keys[id]
	*t.front(key.hash()) = recentName{key, id}
}

// get returns what name stands for.
func (t *nameTable) get(name string) (int32, bool) { return t.find(name, keyOf(name)) }

// in returns what the name at span in text stands for.
func (t *nameTable) in(text string, span source.Span) (int32, bool) {
	return t.find(text[span.Start:span.End], keyIn(text, int(span.Start), int(span.End)))
}

func (t *nameTable) find(name string, key nameKey) (int32, bool) {
	hash := key.hash()
	if len(t.recent) == 0 {
		at, known := t.slot(name, key, hash)
		return t.ids[at], known
	}
	r := t.front(hash)
	if r.key == key && (key < longName || t.nameOf(r.id) == name) {
		return r.id, true
	}
	at, known := t.slot(name, key, hash)
	if !known {
		t.missed = missedName{key, at}
		return 0, false
	}
	*r = recentName{key, t.ids[at]}
	return t.ids[at], true
}

// set lets name, which is that of id, stand for id. Cells come in their order.
func (t *nameTable) set(name string, id int32) {
	key := t.missed.key
	at, known := t.missed.at, false
	if key == 0 || key >= longName || key != keyOf(name) {
		key = keyOf(name)
		at, known = t.slot(name, key, key.hash())
	}
	t.missed = missedName{}
	if int(id) == len(t.keys) {
		t.keys = append(t.keys, key)
	}
	hash := key.hash()
	t.tags[at], t.ids[at] = tagOf(hash), id
	if known {
		*t.front(hash) = recentName{key, id} // where it may stand for another
		return
	}
	if t.used++; t.used*4 > len(t.tags)*3 {
		t.grow()
	}
}

func (t *nameTable) grow() {
	tags, ids := t.tags, t.ids
	t.makeSlots(2 * len(tags))
	mask := uint32(len(t.tags) - 1)
	for i, tag := range tags {
		if tag == 0 {
			continue
		}
		at := keyOf(t.nameOf(ids[i])).hash() >> t.shift
		for t.tags[at] != 0 {
			at = (at + 1) & mask
		}
		t.tags[at], t.ids[at] = tag, ids[i]
	}
}

// fetchLeast is how many slots a table has at least that are worth fetching.
const fetchLeast = 1 << 19

// fetch looks at the slots of the cells among stmts, and does nothing with
// them: all at once, they come from far away in the time of one.
func (t *nameTable) fetch(file *source.File, stmts []syntax.Stmt) {
	if len(t.tags) < fetchLeast {
		return
	}
	seen := int32(0)
	for _, s := range stmts {
		var key nameKey
		switch s := s.(type) {
		case *syntax.Cell:
			key = keyOf(s.Name.Text)
		case *syntax.Repeat:
			key = keyIn(file.Text, int(s.Names[0].Start), int(s.Names[0].End))
		default:
			continue
		}
		at := key.hash() >> t.shift
		seen |= int32(t.tags[at]) | t.ids[at]
	}
	t.fetched = seen
}
