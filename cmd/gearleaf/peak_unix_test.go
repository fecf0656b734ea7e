//go:build linux || darwin

package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"syscall"
)

// freshPeak makes ready for a program whose memory is measured. Linux counts
// into a child's peak what its parent has had at most before the program was
// loaded, because both share their memory until then.
func freshPeak() {
	debug.FreeOSMemory()
	// Only Linux has this file; 5 forgets the peak of this process.
	_ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0)
}

// peakMiB is the most memory that a process had at one time.
func peakMiB(p *os.ProcessState) (mib int, known bool) {
	usage, ok := p.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0, false
	}
	unit := int64(1 << 10) // Linux counts KiB
	if runtime.GOOS == "darwin" {
		unit = 1
	}
	return int(int64(usage.Maxrss) * unit >> 20), true
}
