package speed

import (
	"syscall"
	"time"
	"unsafe"
)

// The system's clocks of computing time: what other programs do on the
// machine does not count.
const (
	processClock = 2 // CLOCK_PROCESS_CPUTIME_ID
	threadClock  = 3 // CLOCK_THREAD_CPUTIME_ID
)

// threadTime returns the time that this thread has computed. The caller keeps
// to its thread.
func threadTime() time.Duration { return clock(threadClock) }

// processTime returns the time that all threads have computed, those of the
// garbage collector among them.
func processTime() time.Duration { return clock(processClock) }

func clock(which uintptr) time.Duration {
	var t syscall.Timespec
	if _, _, err := syscall.RawSyscall(syscall.SYS_CLOCK_GETTIME, which, uintptr(unsafe.Pointer(&t)), 0); err != 0 {
		panic(err)
	}
	return time.Duration(t.Nano())
}
