package sheet

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/graph"
)

// Idle returns those of the moved givens that reach none of shown and none of
// limits.
func (s *Sheet) Idle(moved, shown []Place, limits []*check.Limit) []Place {
	wanted := map[int]bool{}
	for _, p := range shown {
		wanted[s.task(p)] = true
	}
	for _, l := range limits {
		wanted[s.Graph.TaskOf(l)] = true
	}
	var out []Place
	for _, p := range moved {
		reaches := false
		for _, t := range s.Graph.Reach([]int{s.task(p)}) {
			reaches = reaches || wanted[t]
		}
		if !reaches {
			out = append(out, p)
		}
	}
	return out
}

// Ends returns those of the moved givens that no formula and no limit reads.
func (s *Sheet) Ends(moved []Place) []Place {
	var out []Place
	for _, p := range moved {
		read := false
		for _, t := range s.Graph.FeedsOf(s.task(p)) {
			read = read || s.Graph.Task(int(t)).Kind != graph.AdviceTask
		}
		if !read {
			out = append(out, p)
		}
	}
	return out
}

// task returns the task of p's cell or column.
func (s *Sheet) task(p Place) int {
	if p.Cell != nil {
		return s.Graph.TaskOf(p.Cell)
	}
	return s.Graph.TaskOf(p.Column)
}
