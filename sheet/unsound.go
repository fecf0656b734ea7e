package sheet

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
)

// unsound lists what has no value in a sheet with errors: the cells, columns
// and limits that an error leaves undefined, and their dependents.
type unsound struct {
	list           diag.List
	cells, columns map[int32]int // index in list, -1 for an error that is not listed
	limits         map[int32]int
}

// takeOut finds the unsound parts of m and removes them.
func takeOut(m *check.Model, g *graph.Graph, list diag.List) *unsound {
	u := &unsound{list: list, cells: map[int32]int{}, columns: map[int32]int{}, limits: map[int32]int{}}
	s := spreader{g: g, why: map[int]int{}}
	var out []check.Unsound
	for _, one := range m.Unsound(list) {
		if task := taskOf(g, one); task >= 0 {
			s.mark(task, one.Error)
		} else {
			out = append(out, one)
		}
	}
	s.spread()
	for task, why := range s.why {
		out = append(out, things(g.Task(task), why)...)
	}
	for _, one := range out {
		u.note(one)
	}
	m.TakeOut(out)
	return u
}

// taskOf returns the task that computes one, -1 for none.
func taskOf(g *graph.Graph, one check.Unsound) int {
	switch {
	case one.Cell != nil:
		return g.TaskOf(one.Cell)
	case one.Column != nil:
		return g.TaskOf(one.Column)
	case one.Table != nil:
		return g.TaskOf(one.Table)
	case one.Limit != nil:
		return g.TaskOf(one.Limit)
	}
	return -1
}

// things returns what a task computes.
func things(t graph.Task, why int) []check.Unsound {
	switch t.Kind {
	case graph.CellTask:
		return []check.Unsound{{Cell: t.Cell, Error: why}}
	case graph.ColumnTask:
		return []check.Unsound{{Column: t.Column, Error: why}}
	case graph.LimitTask:
		return []check.Unsound{{Limit: t.Limit, Error: why}}
	case graph.AdviceTask:
		return []check.Unsound{{Advice: t.Advice, Error: why}}
	}
	out := []check.Unsound{{Table: t.Table, Error: why}}
	for _, c := range t.Table.Columns {
		if c.Looped && !c.Given {
			out = append(out, check.Unsound{Column: c, Error: why})
		}
	}
	return out
}

func (u *unsound) note(one check.Unsound) {
	put := func(list map[int32]int, index int32) {
		if _, known := list[index]; !known {
			list[index] = one.Error
		}
	}
	switch {
	case one.Cell != nil:
		put(u.cells, one.Cell.Index)
	case one.Column != nil:
		put(u.columns, one.Column.Index)
	case one.Limit != nil:
		put(u.limits, int32(one.Limit.Index))
	}
}

// spreader marks tasks and all that depends on them with the first error.
type spreader struct {
	g     *graph.Graph
	why   map[int]int
	queue []int
}

func (s *spreader) mark(task, why int) {
	if old, known := s.why[task]; known {
		if old < 0 {
			s.why[task] = why
		}
		return
	}
	s.why[task] = why
	s.queue = append(s.queue, task)
}

func (s *spreader) spread() {
	for len(s.queue) > 0 {
		task := s.queue[0]
		s.queue = s.queue[1:]
		for _, f := range s.g.FeedsOf(task) {
			s.mark(int(f), s.why[task])
		}
	}
}

// error returns the error of a mark.
func (u *unsound) error(why int) *diag.Diagnostic {
	if why >= 0 {
		return &u.list[why]
	}
	for i := range u.list {
		if u.list[i].Severity == diag.Error {
			return &u.list[i]
		}
	}
	return nil
}

// Unsound returns the error that prevents computing the value at p, nil if
// there is none.
func (s *Sheet) Unsound(p Place) *diag.Diagnostic {
	switch {
	case p.Cell != nil:
		return s.unsoundCell(p.Cell)
	default:
		return s.unsoundColumn(p.Column)
	}
}

func (s *Sheet) unsoundCell(c *check.Cell) *diag.Diagnostic {
	if s.unsound != nil {
		if why, ok := s.unsound.cells[c.Index]; ok {
			return s.unsound.error(why)
		}
	}
	return nil
}

func (s *Sheet) unsoundColumn(c *check.Column) *diag.Diagnostic {
	if s.unsound != nil {
		if why, ok := s.unsound.columns[c.Index]; ok {
			return s.unsound.error(why)
		}
	}
	return nil
}

// UnsoundLimit returns the error that prevents computing l, nil if there is
// none.
func (s *Sheet) UnsoundLimit(l *check.Limit) *diag.Diagnostic {
	if s.unsound != nil {
		if why, ok := s.unsound.limits[int32(l.Index)]; ok {
			return s.unsound.error(why)
		}
	}
	return nil
}

// faultOf returns the fault of a value that an error leaves undefined.
func faultOf(d *diag.Diagnostic, origin string) *program.Fault {
	return &program.Fault{Origin: origin, Row: -1, Cause: d.Message}
}
