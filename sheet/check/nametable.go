package check

import (
	"hash/maphash"
	"math/bits"
)

// nameTable finds what a name of the sheet stands for: a cell's index, or the
// complement of a table's. It is a hash table with one probe sequence and no
// removal: at a million names, a map of the language's own is the slowest
// part of a check.
//
// Formulas mostly look at cells nearby, and the slots of nearby names lie all
// over the table. So the names met last are kept in a small table in front,
// which stays in the processor's near memory.
type nameTable struct {
	m           *Model
	slots       []nameSlot // a power of two, at most three quarters full
	used        int
	recent      []nameSlot // a power of two
	recentShift int
}

// recentBits tells how many names are kept in front at most: some thousands,
// as many as a formula is likely to look back, find room beside one another.
const recentBits = 14

type nameSlot struct {
	hash uint32 // 0 where the slot is empty
	id   int32
}

var nameSeed = maphash.MakeSeed()

// newNameTable returns a table with room for n names.
func newNameTable(m *Model, n int) *nameTable {
	size := 16
	for size*3 < n*4 {
		size *= 2
	}
	near := min(bits.Len(uint(size))-1, recentBits)
	return &nameTable{m: m, slots: make([]nameSlot, size), recent: make([]nameSlot, 1<<near), recentShift: 32 - near}
}

// nameOf returns the name that id stands for.
func (t *nameTable) nameOf(id int32) string {
	if id < 0 {
		return t.m.Tables[^id].Name
	}
	return t.m.Cells[id].Name
}

func nameHash(name string) uint32 { return uint32(maphash.String(nameSeed, name)) | 1 }

// slot returns the slot of name, or the empty one where it would go.
func (t *nameTable) slot(name string, hash uint32) *nameSlot {
	mask := uint32(len(t.slots) - 1)
	for i := hash >> 1 & mask; ; i = (i + 1) & mask {
		s := &t.slots[i]
		if s.hash == 0 || s.hash == hash && t.nameOf(s.id) == name {
			return s
		}
	}
}

// meet keeps a name that is likely to be asked for soon.
func (t *nameTable) meet(name string, id int32) {
	hash := nameHash(name)
	t.recent[hash>>t.recentShift] = nameSlot{hash, id}
}

// get returns what name stands for.
func (t *nameTable) get(name string) (int32, bool) {
	hash := nameHash(name)
	r := &t.recent[hash>>t.recentShift]
	if r.hash == hash && t.nameOf(r.id) == name {
		return r.id, true
	}
	s := t.slot(name, hash)
	if s.hash != 0 {
		*r = *s
	}
	return s.id, s.hash != 0
}

// set lets name, which is that of id, stand for id.
func (t *nameTable) set(name string, id int32) {
	hash := nameHash(name)
	t.recent[hash>>t.recentShift] = nameSlot{hash, id}
	s := t.slot(name, hash)
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
	t.slots = make([]nameSlot, 2*len(old))
	mask := uint32(len(t.slots) - 1)
	for _, s := range old {
		if s.hash == 0 {
			continue
		}
		i := s.hash >> 1 & mask
		for t.slots[i].hash != 0 {
			i = (i + 1) & mask
		}
		t.slots[i] = s
	}
}
