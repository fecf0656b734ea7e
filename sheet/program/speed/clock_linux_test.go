package speed

import (
	"syscall"
	"time"
	"unsafe"
)

// threadClock is the system's CLOCK_THREAD_CPUTIME_ID.
const threadClock = 3

// threadTime returns the time that this thread has computed: what other
// programs do on the machine does not count. The caller keeps to its thread.
func threadTime() time.Duration { return clock(threadClock) }

func clock(which uintptr) time.Duration {
	var t syscall.Timespec
	if _, _, err := syscall.RawSyscall(syscall.SYS_CLOCK_GETTIME, which, uintptr(unsafe.Pointer(&t)), 0); err != 0 {
		panic(err)
	}
	return time.Duration(t.Nano())
}
