package check

import (
	"fmt"
	"testing"
)

// TestNames fills a table with as many names as it has room for, so that many
// share a place, and compares it with a map: names that it has, one that denotes
// another cell later, and names that it has not.
func TestNames(t *testing.T) {
	const n = 5000
	m := &Model{}
	table, want := cellNames(m, n/100), map[string]int32{}
	for i := range int32(n) {
		name, id := fmt.Sprint("name_", i), int32(len(m.Cells))
		if i%7 == 0 {
			id = ^int32(len(m.Tables))
			m.Tables = append(m.Tables, &Table{Name: name})
		} else {
			m.Cells = append(m.Cells, &Cell{Quantity: Quantity{Name: name}})
		}
		table.set(name, id)
		want[name] = id
	}
	m.Cells = append(m.Cells, &Cell{Quantity: Quantity{Name: "name_1"}})
	table.set("name_1", int32(len(m.Cells)-1))
	want["name_1"] = int32(len(m.Cells) - 1)
	for i := range 2 * n {
		name := fmt.Sprint("name_", i)
		id, ok := table.find(name)
		if w, known := want[name]; ok != known || ok && id != w {
			t.Errorf("%s denotes %d (%v), want %d (%v)", name, id, ok, w, known)
		}
	}
	if _, ok := new(names).find("name_1"); ok {
		t.Error("a model made by hand knows a name")
	}
}
