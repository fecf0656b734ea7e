package sheet

import (
	"runtime/debug"
	"sync"
	"testing"

	"gearleaf/sheet/generate"
)

// percentNow is the collector's percentage.
func percentNow() int {
	percent, _ := collector()
	return percent
}

// TestHoldCollector lets the heap grow while large texts are loaded, the more
// the more there are, and leaves the collector as it was.
func TestHoldCollector(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(150))
	if release := holdCollector(holdLeast - 1); release != nil || percentNow() != 150 {
		t.Errorf("a small text: the collector is at %d", percentNow())
	}
	first := holdCollector(10 << 20)
	one := percentNow()
	second := holdCollector(10 << 20)
	two := percentNow()
	if one <= 150 || two <= one {
		t.Errorf("one load %d, two %d: want each higher than the one before, from 150", one, two)
	}
	first()
	if percentNow() <= 150 {
		t.Errorf("the first load let the second one's collector go: %d", percentNow())
	}
	second()
	if percentNow() != 150 {
		t.Errorf("after all loads the collector is at %d, was at 150", percentNow())
	}
}

// TestHoldLeavesItOff keeps a collector off that someone has turned off.
func TestHoldLeavesItOff(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	release := holdCollector(10 << 20)
	during := percentNow()
	release()
	if during != -1 || percentNow() != -1 {
		t.Errorf("the collector is at %d during a load and at %d behind it, want off", during, percentNow())
	}
}

func TestHeldPercent(t *testing.T) {
	for _, c := range []struct {
		usual      int
		more, live int64
		want       int
	}{
		{-1, 1 << 30, 1 << 30, -1},
		{100, 1 << 30, 1 << 30, 200},   // as much again as it would grow by
		{100, 40 << 20, 1 << 20, 1100}, // little in use: ten times the least that is reckoned with
		{100, 1 << 62, 0, 1<<31 - 1},
	} {
		if got := heldPercent(c.usual, c.more, c.live); got != c.want {
			t.Errorf("heldPercent(%d, %d, %d) = %d, want %d", c.usual, c.more, c.live, got, c.want)
		}
	}
}

// TestLoadsAtOnce loads large sheets side by side, some of them wrong: the
// collector is as it was behind the last one.
func TestLoadsAtOnce(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(120))
	text := generate.Layered(10_000, 1)
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			if i%2 == 0 {
				if s, _ := FromText("wrong.leaf", text+"x = nothing\n"); s != nil {
					t.Error("a sheet with an unknown name has been loaded")
				}
			} else if s, list := FromText("right.leaf", text); s == nil {
				t.Error(list)
			}
		})
	}
	all.Wait()
	if percentNow() != 120 {
		t.Errorf("after all loads the collector is at %d, was at 120", percentNow())
	}
}
