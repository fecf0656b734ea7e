//go:build goexperiment.simd && amd64

package speed

func init() { experiment = " with GOEXPERIMENT=simd" }
