package wasm

import "gearleaf/sheet/kernel"

// KernelNames are the names of the functions of a row.
func KernelNames(row *kernel.Intrinsic) []string {
	var names []string
	if row.F1 != nil {
		names = append(names, KernelName(row.F1))
	}
	if row.F2 != nil {
		names = append(names, KernelName(row.F2))
	}
	return names
}

// HasKernel reports whether a function of the kernel is translated.
func HasKernel(name string) bool { return kernelFunctions()[name] != nil }
