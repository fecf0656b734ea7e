package check_test

import (
	"slices"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
)

// FuzzCheck checks that no text that can be read makes the checker panic, and
// that a model it accepts is well-formed: every node has operands that are
// before it.
func FuzzCheck(f *testing.F) {
	f.Add(charter)
	f.Add(prelude)
	for _, row := range diag.Codes() {
		f.Add(row.Example)
	}
	for _, formula := range []string{"gauge / point + lookup(3 s, log.t, log.air)", "if wet then road_speed(speed, 6, 2 m) else 3 m/s", "0 < share < 1 and fuel = \"a\"", "length ^ (1/3)"} {
		f.Add(prelude + "x = " + formula + "\n")
	}
	f.Add("function f(a, b: a) as a/b\n  s = a ^ 2\n  valid a > b\n  = s / b\nx = f(1 m, 2 m)\n")
	f.Add("table t rows 9 until a > 3\n  a = prev(a) + b start 0\n  b = row * 2\n  c = next(a)\nlimit t.a < 5\n")
	lib := library()
	f.Fuzz(func(t *testing.T, text string) {
		tree, list := parse(text)
		m, found := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
		if !slices.IsSortedFunc(found, func(a, b diag.Diagnostic) int {
			if a.File != b.File {
				return 0
			}
			return int(a.Span.Start - b.Span.Start)
		}) {
			t.Error("the list is not in reading order")
		}
		if list.Errors() || found.Errors() {
			return
		}
		whole(t, m)
		again, second := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
		if len(again.Nodes) != len(m.Nodes) || len(second) != len(found) {
			t.Errorf("a second check gives %d nodes after %d", len(again.Nodes), len(m.Nodes))
		}
	})
}

// whole checks the arena of a model that was accepted.
func whole(t *testing.T, m *check.Model) {
	for i := range m.Nodes[1:] {
		id := check.NodeID(i + 1)
		n := m.Node(id)
		if n.Op == check.Bad {
			t.Fatalf("node %d is bad: %s", id, "an accepted sheet has none")
		}
		for _, o := range m.AppendOperands(nil, n) {
			if o >= id || o <= 0 {
				t.Fatalf("node %d has the operand %d", id, o)
			}
		}
		if n.Op != check.CellRef && n.Op != check.PrevRef && n.Op != check.ColumnRef && n.Op != check.NextRef && n.Type() == 0 && !reads(m, id) {
			t.Errorf("node %d, %d, has no type", id, n.Op)
		}
	}
	for _, c := range m.Cells {
		if !c.Given && c.Formula == 0 {
			t.Errorf("%s has no formula", c.Name)
		}
	}
	for _, c := range m.Columns {
		if c.Given && len(c.Values) != c.Table.Rows || !c.Given && c.Formula == 0 {
			t.Errorf("%s.%s has %d values for %d rows, formula %d", c.Table.Name, c.Name, len(c.Values), c.Table.Rows, c.Formula)
		}
	}
}

// reads reports whether something in a cycle, whose type is not known, is
// below id.
func reads(m *check.Model, id check.NodeID) bool {
	n := m.Node(id)
	switch n.Op {
	case check.CellRef, check.ColumnRef, check.PrevRef, check.NextRef, check.Aggregate:
		return n.Type() == 0
	case check.Lookup, check.IndexAt:
		return true
	}
	for _, o := range m.AppendOperands(nil, n) {
		if reads(m, o) {
			return true
		}
	}
	return false
}

// TestRepairs checks that each repair of the examples removes its diagnostic:
// the text with its edits yields no diagnostic of that code.
func TestRepairs(t *testing.T) {
	lib := library()
	repairs := 0
	for _, row := range diag.Codes() {
		tree, list := parse(row.Example)
		if list.Errors() {
			continue
		}
		_, list = check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
		for _, d := range list {
			for _, r := range d.Repairs {
				repairs++
				text := edited(tree.File.Text, r.Edits)
				tree, after := parse(text)
				if after.Errors() {
					t.Errorf("%s, %s: %s does not read: %s", d.Code, r.Title, text, after[0].Message)
					continue
				}
				_, after = check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: lib})
				for _, still := range after {
					if still.Severity == diag.Error && still.Message == d.Message {
						t.Errorf("%s, %s: %s\nyields it again", d.Code, r.Title, text)
					}
				}
			}
		}
	}
	if repairs < 10 {
		t.Errorf("only %d repairs tried", repairs)
	}
}

// edited applies edits, which do not overlap.
func edited(text string, edits []diag.Edit) string {
	for i := len(edits) - 1; i >= 0; i-- {
		text = text[:edits[i].Span.Start] + edits[i].New + text[edits[i].Span.End:]
	}
	return text
}
