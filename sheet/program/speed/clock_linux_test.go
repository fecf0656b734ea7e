package speed

import (
	"time"

	"golang.org/x/sys/unix"
)

// processClock is the system's clock of computing time: what other programs do
// on the machine does not count.
const processClock = unix.CLOCK_PROCESS_CPUTIME_ID

// processTime returns the time that all threads have computed, those of the
// garbage collector among them.
func processTime() time.Duration { return clock(processClock) }

func clock(which int32) time.Duration {
	var t unix.Timespec
	if err := unix.ClockGettime(which, &t); err != nil {
		panic(err)
	}
	return time.Duration(t.Nano())
}
