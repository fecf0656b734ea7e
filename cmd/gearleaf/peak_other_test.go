//go:build !linux && !darwin

package main

import "os"

func freshPeak() {}

// peakMiB is not known on this system.
func peakMiB(*os.ProcessState) (mib int, known bool) { return 0, false }
