package check

import "hash/maphash"

// names is what the names of a sheet denote: a cell's index, or the complement
// of a table's. It is a hash table that keeps no name, because cells and tables
// have theirs; a map would take three times the memory, 50 bytes a cell.
type names struct {
	m     *Model
	seed  maphash.Seed
	slots []nameSlot // searched from the place of the hash on; a third is free
}

// nameSlot is a name's hash and what it denotes; the hash 0 marks a free slot.
type nameSlot struct {
	hash uint32
	id   int32
}

// newNames returns a table for at most n names of m.
func newNames(m *Model, n int) names {
	return names{m: m, seed: maphash.MakeSeed(), slots: make([]nameSlot, n+n/2+1)}
}

// find returns what name denotes.
func (t *names) find(name string) (id int32, ok bool) {
	if len(t.slots) == 0 {
		return 0, false // a model made by hand
	}
	s, _ := t.slot(name)
	return s.id, s.hash != 0
}

// set makes name, which is that of id, denote id.
func (t *names) set(name string, id int32) {
	s, hash := t.slot(name)
	*s = nameSlot{hash, id}
}

// slot returns the slot of name, or the free one for it, and its hash.
func (t *names) slot(name string) (*nameSlot, uint32) {
	h := maphash.String(t.seed, name)
	hash := uint32(h) | 1
	for i := int(h >> 32 * uint64(len(t.slots)) >> 32); ; i++ {
		if i == len(t.slots) {
			i = 0
		}
		if s := &t.slots[i]; s.hash == 0 || s.hash == hash && t.nameOf(s.id) == name {
			return s, hash
		}
	}
}

func (t *names) nameOf(id int32) string {
	if id < 0 {
		return t.m.Tables[^id].Name
	}
	return t.m.Cells[id].Name
}
