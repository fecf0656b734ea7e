//go:build large

package source

// scale lets the benchmarks load a sheet of a million cells, which the programs
// refuse: while it is loaded it takes more than the gigabyte that they may take.
const scale = 10
