package speed

import (
	"syscall"
	"time"
)

// threadTime returns the time that this thread has computed: other programs
// on the machine do not count. The caller keeps to its thread.
func threadTime() time.Duration { return usage(1) } // RUSAGE_THREAD

// processTime returns the time that all threads have computed.
func processTime() time.Duration { return usage(syscall.RUSAGE_SELF) }

func usage(of int) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(of, &u); err != nil {
		panic(err) // the call has no other way to fail than a wrong argument
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
