// Command gearleaf computes worksheets for tuning a drag-race motorcycle:
// change one given and see everything it reaches.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
