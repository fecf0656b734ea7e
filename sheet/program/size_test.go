package program

import (
	"reflect"
	"testing"
)

// TestTaskSize holds what a large sheet has a million of to its size.
func TestTaskSize(t *testing.T) {
	if have := reflect.TypeFor[task]().Size(); have > 32 {
		t.Errorf("a task takes %d bytes, and 32 are enough", have)
	}
}
