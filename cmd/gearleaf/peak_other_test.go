//go:build !linux && !darwin

package main

import "os"

// peakMiB is not known on this system.
func peakMiB(*os.ProcessState) (mib int, known bool) { return 0, false }
