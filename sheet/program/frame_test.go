package program

import (
	"testing"

	"gearleaf/sheet/check"
)

// TestAnUpdateOfLanesHasRoomForEachTask changes a given of a sheet whose joint
// code needs less of the frame than one of its cells does alone.
func TestAnUpdateOfLanesHasRoomForEachTask(t *testing.T) {
	s := newSketch()
	a, b := s.given("a", 3), s.given("b", 2)
	sum := func() check.NodeID { return s.op(check.Add, s.cellRef(a), s.cellRef(b)) }
	less := func() check.NodeID { return s.op(check.Sub, s.cellRef(a), s.cellRef(b)) }
	s.cell("sum", sum())
	s.cell("less", less())
	product := s.cell("product", s.op(check.Mul, sum(), less()))
	mc := s.compile(t, Options{}).NewMachine(2)
	mc.SetCell(int(a.Index), 1, 5)
	mc.Run()
	mc.SetCell(int(a.Index), 1, 7)
	mc.Update()
	if got := mc.Cell(int(product.Index), 1); got != 45 {
		t.Errorf("(7 + 2) * (7 - 2) is %v", got)
	}
}
