package speed

import (
	"time"

	"golang.org/x/sys/unix"
)

// The system's clocks of computing time: what other programs do on the
// machine does not count.
const (
	processClock = unix.CLOCK_PROCESS_CPUTIME_ID
	threadClock  = unix.CLOCK_THREAD_CPUTIME_ID
)

// threadTime returns the time that this thread has computed. The caller keeps
// to its thread.
func threadTime() time.Duration { return clock(threadClock) }

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
