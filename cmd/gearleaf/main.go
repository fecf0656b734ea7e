// Command gearleaf computes worksheets for tuning a drag-race motorcycle:
// change one given and see everything it affects.
package main

import (
	"os"
	"runtime/debug"
)

func main() { os.Exit(start()) }

// mostGarbage is the memory above which garbage is collected more often. Every
// command must need at most a gigabyte; without this, half of it may be
// garbage.
const mostGarbage = 800 << 20

// start runs the program and returns its exit status.
func start() int {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(mostGarbage)
	}
	return run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
}
