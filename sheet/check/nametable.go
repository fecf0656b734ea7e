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
// What costs time is memory that is far away. So while a sheet is checked, the
// key of each cell's name stands in a list, and a name of up to eight letters
// is its own key: neither the cell nor the text is looked at. And because
// formulas mostly look at cells nearby, the names met last are kept in a small
// table in front, which stays in the processor's nearest memory.
type nameTable struct {
	m     *Model
	slots []nameSlot // a power of two, at most three quarters full
	shift int        // takes a hash to its first slot
	used  int

	keys    []nameKey    // of the names of cells
	recent  []recentName // a power of two
	fetched uint32       // of no meaning: see fetch
}

type nameSlot struct {
	hash uint32 // 0 where the slot is empty
	id   int32
}

type recentName struct {
	key nameKey // 0 where nothing has been met
	id  int32
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
	t.slots = make([]nameSlot, size)
	t.shift = 32 - bits.TrailingZeros(uint(size))
}

// close lets go of what only a check needs. A closed table does not change.
func (t *nameTable) close() { t.keys, t.recent = nil, nil }

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

// hash mixes a key with what nobody can guess.
func (k nameKey) hash() uint32 {
	hi, lo := bits.Mul64(uint64(k)^nameSalt, nameMix)
	return uint32((hi^lo)>>32) | 1
}

// nameOf returns the name that id stands for.
func (t *nameTable) nameOf(id int32) string {
	if id < 0 {
		return t.m.Tables[^id].Name
	}
	return t.m.Cells[id].Name
}

// is reports whether id has a name with that key.
func (t *nameTable) is(id int32, name string, key nameKey) bool {
	if uint(id) < uint(len(t.keys)) && (key < longName || t.keys[id] != key) {
		return t.keys[id] == key
	}
	return t.nameOf(id) == name
}

// slot returns the slot of name, or the empty one where it would go.
func (t *nameTable) slot(name string, key nameKey, hash uint32) *nameSlot {
	mask := uint32(len(t.slots) - 1)
	for i := hash >> t.shift; ; i = (i + 1) & mask {
		s := &t.slots[i]
		if s.hash == 0 || s.hash == hash && t.is(s.id, name, key) {
			return s
		}
	}
}

// front returns the place of a name in the table in front.
func (t *nameTable) front(hash uint32) *recentName {
	return &t.recent[hash>>1&uint32(len(t.recent)-1)]
}

// meet keeps the name of a cell, which is likely to be asked for soon.
func (t *nameTable) meet(id int32) {
	key := t.keys[id]
	*t.front(key.hash()) = recentName{key, id}
}

// get returns what name stands for.
func (t *nameTable) get(name string) (int32, bool) {
	key := keyOf(name)
	hash := key.hash()
	if len(t.recent) == 0 {
		s := t.slot(name, key, hash)
		return s.id, s.hash != 0
	}
	r := t.front(hash)
	if r.key == key && (key < longName || t.nameOf(r.id) == name) {
		return r.id, true
	}
	s := t.slot(name, key, hash)
	if s.hash != 0 {
		*r = recentName{key, s.id}
	}
	return s.id, s.hash != 0
}

// set lets name, which is that of id, stand for id. Cells come in their order.
func (t *nameTable) set(name string, id int32) {
	key := keyOf(name)
	if int(id) == len(t.keys) {
		t.keys = append(t.keys, key)
	}
	hash := key.hash()
	*t.front(hash) = recentName{key, id}
	s := t.slot(name, key, hash)
	if s.hash != 0 {
		s.id = id
		return
	}
	*s = nameSlot{hash, id}
	if t.used++; t.used*4 > len(t.slots)*3 {
		t.grow()
	}
}

func (t *nameTable) grow() {
	old := t.slots
	t.makeSlots(2 * len(old))
	mask := uint32(len(t.slots) - 1)
	for _, s := range old {
		if s.hash == 0 {
			continue
		}
		i := s.hash >> t.shift
		for t.slots[i].hash != 0 {
			i = (i + 1) & mask
		}
		t.slots[i] = s
	}
}

// fetch looks at the slots of the cells among stmts, and does nothing with
// them: all at once, they come from far away in the time of one.
func (t *nameTable) fetch(file *source.File, stmts []syntax.Stmt) {
	seen := uint32(0)
	for _, s := range stmts {
		name := ""
		switch s := s.(type) {
		case *syntax.Cell:
			name = s.Name.Text
		case *syntax.Repeat:
			name = s.Name(file)
		default:
			continue
		}
		seen |= t.slots[keyOf(name).hash()>>t.shift].hash
	}
	t.fetched = seen
}
