package referee

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// runColumn evaluates a column whose rows do not depend on each other.
func (r *Referee) runColumn(c *check.Column) error {
	s := r.spans[c.Table.Index]
	values := filled(c.Table.Rows, kernel.Blank)
	r.columns[c.Index] = values
	for row := range s.live {
		if err := r.ended(); err != nil {
			return err
		}
		if s.broken >= 0 && row >= s.broken {
			values[row] = kernel.Fault
			continue
		}
		v, err := r.rowOf(c, row)
		if err != nil {
			return err
		}
		values[row] = v
	}
	return nil
}

// rowOf evaluates one row of a computed column.
func (r *Referee) rowOf(c *check.Column, row int) (float64, error) {
	node := c.Formula
	if row == 0 && c.Start != 0 {
		node = c.Start
	}
	return r.tree(node).value(r.at(row))
}

// at returns the scope of a row, which is valid until the next call.
func (r *Referee) at(row int) *scope {
	r.row.row = row
	return &r.row
}

// runLoop evaluates the looped columns of a table row by row, and finds its
// last row.
func (r *Referee) runLoop(t *check.Table) error {
	for _, c := range t.Loop {
		r.columns[c.Index] = filled(t.Rows, kernel.Blank)
	}
	for row := range t.Rows {
		if err := r.ended(); err != nil {
			return err
		}
		turn, err := r.step(t, row)
		if err != nil {
			return err
		}
		switch turn {
		case kernel.Ends:
			r.end(t, row+1)
			return nil
		case kernel.Breaks:
			r.breakOff(t, row)
			return nil
		}
	}
	return nil
}

// step evaluates one row of a loop and returns the outcome of its until.
func (r *Referee) step(t *check.Table, row int) (kernel.Turn, error) {
	for _, c := range t.Loop {
		v, err := r.rowOf(c, row)
		if err != nil {
			return 0, named(err, c.Name)
		}
		r.columns[c.Index][row] = v
	}
	if t.Until == 0 {
		return kernel.GoesOn, nil
	}
	v, err := r.tree(t.Until).value(r.at(row))
	return kernel.Until(v), err
}

// end makes live the number of rows of t; computed entries after them are
// blank.
func (r *Referee) end(t *check.Table, live int) {
	r.spans[t.Index] = span{live: live, ended: true, broken: -1}
	for _, c := range t.Columns {
		if !c.Given && r.columns[c.Index] != nil {
			copy(r.columns[c.Index][live:], filled(t.Rows-live, kernel.Blank))
		}
	}
}

// breakOff makes the computed entries of t faults from row on.
func (r *Referee) breakOff(t *check.Table, row int) {
	r.spans[t.Index].broken = row
	for _, c := range t.Columns {
		if !c.Given && r.columns[c.Index] != nil {
			copy(r.columns[c.Index][row:], filled(t.Rows-row, kernel.Fault))
		}
	}
}

// sound returns the number of rows of t before a faulty until.
func (r *Referee) sound(t *check.Table, live int) (int, error) {
	broken, err := r.from.broken(t)
	if broken < 0 {
		return live, err
	}
	return min(broken, live), err
}

// verdict evaluates a condition: once, or in every live row of a table.
func (r *Referee) verdict(cond check.NodeID, t *check.Table) (Verdict, error) {
	if t == nil {
		v, err := r.scalar(cond)
		return Verdict{Value: v, Row: -1}, err
	}
	live, ended := r.from.span(t.Index)
	conditions := filled(live, kernel.Fault)
	sound, err := r.sound(t, live)
	if err != nil {
		return Verdict{}, err
	}
	tree := r.tree(cond)
	for row := range sound {
		v, err := tree.value(r.at(row))
		if err != nil {
			return Verdict{}, err
		}
		conditions[row] = v
	}
	value, row := kernel.Holds(conditions, ended)
	return Verdict{Value: value, Row: row}, nil
}
