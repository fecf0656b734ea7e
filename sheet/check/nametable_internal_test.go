package check

import (
	"fmt"
	"testing"
)

// TestNameTable finds names of every length, in a table with room and in one
// that grows, while the sheet is checked and afterwards.
func TestNameTable(t *testing.T) {
	var names []string
	for i := range 3000 {
		names = append(names, fmt.Sprintf("c%d", i), fmt.Sprintf("cell_%03d", i), fmt.Sprintf("a_long_name_of_a_cell_%d", i))
	}
	names = append(names, "a", "aa", "aaaaaaa", "aaaaaaaa", "aaaaaaaaa", "größe", "grössere", "a\x00", "aaaaaaa\x01")
	for _, room := range []int{0, len(names)} {
		m := &Model{Tables: []*Table{{Name: "gears"}, {Name: "a_table_of_torques"}}}
		table := newNameTable(m, room)
		for i := range m.Tables {
			table.set(m.Tables[i].Name, ^int32(i))
		}
		for i, name := range names {
			if id, known := table.get(name); known {
				t.Fatalf("%q is %d before it is there", name, id)
			}
			c := &Cell{}
			c.Name, c.Index = name, int32(i)
			m.Cells = append(m.Cells, c)
			table.set(name, c.Index)
		}
		find := func(when string) {
			for i, name := range names {
				if id, known := table.get(name); !known || id != int32(i) {
					t.Fatalf("%s: %q is %d, %v; want %d", when, name, id, known, i)
				}
			}
			for i := range m.Tables {
				if id, known := table.get(m.Tables[i].Name); !known || id != ^int32(i) {
					t.Fatalf("%s: %q is %d, %v; want %d", when, m.Tables[i].Name, id, known, ^i)
				}
			}
			for _, name := range []string{"", "b", "c3000", "aaaaaa", "cell_", "a_long_name_of_a_cell_", "\x00"} {
				if id, known := table.get(name); known {
					t.Fatalf("%s: %q is %d", when, name, id)
				}
			}
		}
		find("open")
		for i := range m.Cells {
			table.meet(int32(i))
		}
		find("met")
		table.close()
		find("closed")
	}
}

// TestNameStandsForTheOther lets a name stand for another cell of that name.
func TestNameStandsForTheOther(t *testing.T) {
	for _, name := range []string{"mass", "mass_of_the_rider"} {
		m := &Model{}
		table := newNameTable(m, 2)
		for i := range int32(2) {
			c := &Cell{}
			c.Name, c.Index = name, i
			m.Cells = append(m.Cells, c)
			table.set(name, i)
		}
		if id, _ := table.get(name); id != 1 {
			t.Errorf("%s is %d, want the cell that came last", name, id)
		}
		table.set(name, 0)
		if id, _ := table.get(name); id != 0 {
			t.Errorf("%s is %d, want the one it was set to", name, id)
		}
	}
}
