package program

import (
	"testing"
	"unsafe"
)

// TestTaskSize holds what a large sheet has a million of to its size.
func TestTaskSize(t *testing.T) {
	if have := unsafe.Sizeof(task{}); have > 32 {
		t.Errorf("a task takes %d bytes, and 32 are enough", have)
	}
}
