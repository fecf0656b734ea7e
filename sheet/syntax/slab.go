package syntax

// slab allocates values of one type from chunks: a tree of a million nodes
// takes thousands of allocations, not millions.
type slab[T any] struct {
	free []T
	size int // of the last chunk
	room int // of all chunks
}

// used returns the number of values allocated, or left over when a list did not
// fit.
func (s *slab[T]) used() int { return s.room - len(s.free) }

// one returns a new zero value.
func (s *slab[T]) one() *T {
	if len(s.free) == 0 {
		s.grow(1)
	}
	v := &s.free[0]
	s.free = s.free[1:]
	return v
}

// list returns a copy of items.
func (s *slab[T]) list(items []T) []T {
	if len(items) == 0 {
		return nil
	}
	if len(s.free) < len(items) {
		s.grow(len(items))
	}
	v := s.free[:len(items):len(items)]
	s.free = s.free[len(items):]
	copy(v, items)
	return v
}

// grow makes room for n values; chunk sizes double up to about a thousand
// values.
func (s *slab[T]) grow(n int) {
	s.size = max(8, min(2*s.size, 1024))
	s.free = make([]T, max(n, s.size))
	s.room += len(s.free)
}
