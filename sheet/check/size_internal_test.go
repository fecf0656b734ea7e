package check

import (
	"testing"
	"unsafe"
)

// TestSizes bounds the size of what a large sheet has millions of.
func TestSizes(t *testing.T) {
	for _, s := range []struct {
		name       string
		have, most uintptr
	}{
		{"Node", unsafe.Sizeof(Node{}), 12},
		{"entry of the outline", unsafe.Sizeof(entry{}), 12},
		{"subject", unsafe.Sizeof(subject{}), 24},
		{"Cell", unsafe.Sizeof(Cell{}), 64},
	} {
		if s.have > s.most {
			t.Errorf("a %s takes %d bytes, and %d are enough", s.name, s.have, s.most)
		}
	}
}
