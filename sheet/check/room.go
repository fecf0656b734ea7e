package check

import "unsafe"

// The first touch of fresh memory costs a microsecond or more a page, which on
// a large sheet is a quarter of its check. So while one goroutine takes in the
// names, another one makes the room for what comes next and touches it.

// roomLeast is how many values are worth room made ahead.
const roomLeast = 10_000

// roomFor returns, when it is ready, an empty slice with room for n values.
func roomFor[T any](n int) <-chan []T {
	ready := make(chan []T, 1)
	fill := func() { ready <- touched[T](n)[:0] }
	if n < roomLeast {
		fill()
	} else {
		go fill()
	}
	return ready
}

// roomPart is how many values a part of roomInParts has.
const roomPart = 1 << 13

// roomInParts returns, part after part, slices that come to n values. Nobody
// has to take them all.
func roomInParts[T any](n int) <-chan []T {
	ready := make(chan []T, n/roomPart+1)
	fill := func() {
		for ; n > 0; n -= roomPart {
			ready <- touched[T](min(n, roomPart))
		}
		close(ready)
	}
	if n < roomLeast {
		fill()
	} else {
		go fill()
	}
	return ready
}

// touched returns n zero values, with a write to each page of them.
func touched[T any](n int) []T {
	const page = 4096
	var zero T
	s := make([]T, n)
	for i := 0; i < n; i += max(1, page/int(unsafe.Sizeof(zero))) {
		s[i] = zero
	}
	return s
}
