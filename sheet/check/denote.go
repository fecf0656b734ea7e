package check

import "hash/maphash"

// names is a hash table from names to indices. It stores no names, because the
// indexed objects have them; a map would take three times the memory.
type names struct {
	name  func(id int32) string
	seed  maphash.Seed
	slots []nameSlot // searched from the place of the hash on; a third is free
	used  int
}

// nameSlot is a name's hash and its index; the hash 0 marks a free slot.
type nameSlot struct {
	hash uint32
	id   int32
}

// newNames returns a table with room for n names; name returns the name of an
// index.
func newNames(n int, name func(id int32) string) names {
	return names{name: name, seed: maphash.MakeSeed(), slots: make([]nameSlot, n+n/2+2)}
}

// cellNames returns a table with room for n names of m: a name denotes the index
// of a cell, or the complement of a table's.
func cellNames(m *Model, n int) names {
	return newNames(n, func(id int32) string {
		if id < 0 {
			return m.Tables[^id].Name
		}
		return m.Cells[id].Name
	})
}

// find returns what name denotes.
func (t *names) find(name string) (id int32, ok bool) {
	if len(t.slots) == 0 {
		return 0, false // a model made by hand
	}
	s, _ := t.slot(name)
	return s.id, s.hash != 0
}

// set makes name, the name of id, denote id.
func (t *names) set(name string, id int32) {
	s, hash := t.slot(name)
	if s.hash == 0 {
		t.used++
	}
	*s = nameSlot{hash, id}
	if t.used > len(t.slots)*2/3 {
		t.grow()
	}
}

// grow doubles the table.
func (t *names) grow() {
	old := t.slots
	t.slots = make([]nameSlot, 2*len(old))
	for _, o := range old {
		if o.hash != 0 {
			s, _ := t.slot(t.name(o.id))
			*s = o
		}
	}
}

// slot returns the slot of name, or the free one for it, and its hash.
func (t *names) slot(name string) (*nameSlot, uint32) {
	h := maphash.String(t.seed, name)
	hash := uint32(h) | 1
	for i := int(h >> 32 * uint64(len(t.slots)) >> 32); ; i++ {
		if i == len(t.slots) {
			i = 0
		}
		if s := &t.slots[i]; s.hash == 0 || s.hash == hash && t.name(s.id) == name {
			return s, hash
		}
	}
}
