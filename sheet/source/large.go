//go:build large

package source

// scale lets the benchmarks load a sheet of a million cells, which the programs
// refuse because loading takes more than their limit of one gigabyte.
const scale = 10
