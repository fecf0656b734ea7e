package check

import "hash/maphash"

// nameTable finds what a name of the sheet stands for: a cell's index, or the
// complement of a table's. It is a hash table with one probe sequence and no
// removal: at a million names, a map of the language's own is the slowest
// part of a check.
type nameTable struct {
	m     *Model
	slots []nameSlot // a power of two, at most three quarters full
	used  int
}

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
	return &nameTable{m: m, slots: make([]nameSlot, size)}
}

// nameOf returns the name that id stands for.
func (t *nameTable) nameOf(id int32) string {
	if id < 0 {
		return t.m.Tables[^id].Name
	}
	return t.m.Cells[id].Name
}

// slot returns the slot of name, or the empty one where it would go.
func (t *nameTable) slot(name string) (*nameSlot, uint32) {
	hash := uint32(maphash.String(nameSeed, name)) | 1
	mask := uint32(len(t.slots) - 1)
	for i := hash >> 1 & mask; ; i = (i + 1) & mask {
		s := &t.slots[i]
		if s.hash == 0 || s.hash == hash && t.nameOf(s.id) == name {
			return s, hash
		}
	}
}

// get returns what name stands for.
func (t *nameTable) get(name string) (int32, bool) {
	s, _ := t.slot(name)
	return s.id, s.hash != 0
}

// set lets name, which is that of id, stand for id.
func (t *nameTable) set(name string, id int32) {
	s, hash := t.slot(name)
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
