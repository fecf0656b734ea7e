//go:build linux || darwin

package main

import (
	"os"
	"runtime"
	"syscall"
)

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
