package sheet

import (
	"math"
	"runtime/debug"
	"runtime/metrics"
	"sync"
)

// While a large text is loaded, nearly everything that is made stays: a
// collection in between marks a half-made sheet over and over and frees next
// to nothing, which takes a third of the time. So a load lets the heap grow
// by what it is likely to make before the next collection: three times what
// stays, most of it the tree. A limit on memory (GOMEMLIMIT) still holds, and a
// collector that has been turned off stays off.

const (
	holdLeast   = 256 << 10 // bytes of text: a smaller sheet is loaded before the collector stirs
	madePerByte = 25        // bytes that a load makes for each byte of text, measured on sheets of short formulas
)

// hold is the loads under way that hold the collector back.
var hold struct {
	sync.Mutex
	loads   int
	bytes   int64 // that they will make
	percent int   // what the first of them found
}

// holdCollector lets the heap grow by what loading text bytes makes, and
// returns the end of that; nil where the text is small.
func holdCollector(text int) (release func()) {
	if text < holdLeast {
		return nil
	}
	hold.Lock()
	defer hold.Unlock()
	usual, live := collector()
	if hold.loads == 0 {
		hold.percent = usual
	}
	hold.loads++
	hold.bytes += int64(text) * madePerByte
	setPercent(heldPercent(hold.percent, hold.bytes, live))
	return func() { releaseCollector(text) }
}

func releaseCollector(text int) {
	hold.Lock()
	defer hold.Unlock()
	hold.loads--
	hold.bytes -= int64(text) * madePerByte
	if hold.loads == 0 {
		setPercent(hold.percent)
	}
}

// setPercent leaves a collector alone that is off: turning it off waits for
// a collection under way.
func setPercent(percent int) {
	if percent >= 0 {
		debug.SetGCPercent(percent)
	}
}

// heldPercent is the collector's percentage at which a heap of live bytes may
// grow by more; usual is what it was, negative for a collector that is off.
func heldPercent(usual int, more, live int64) int {
	if usual < 0 {
		return usual
	}
	const least = 4 << 20 // the collector reckons with at least so much
	return int(min(int64(usual)+more/(max(live, least)/100), math.MaxInt32))
}

// collector returns the percentage in force, -1 where the collector is off,
// and the bytes that the last collection found in use.
func collector() (percent int, live int64) {
	s := []metrics.Sample{{Name: "/gc/gogc:percent"}, {Name: "/gc/heap/live:bytes"}}
	metrics.Read(s)
	for i := range s {
		if s[i].Value.Kind() != metrics.KindUint64 {
			return -1, 0 // a runtime that does not tell is left alone
		}
	}
	if percent := s[0].Value.Uint64(); percent <= math.MaxInt32 {
		return int(percent), int64(s[1].Value.Uint64())
	}
	return -1, 0
}
