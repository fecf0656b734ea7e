package program

import (
	"reflect"
	"testing"

	"gearleaf/sheet/program/code"
)

// TestTaskSize bounds the size of what a large sheet has a million of.
func TestTaskSize(t *testing.T) {
	if have := reflect.TypeFor[code.Task]().Size(); have > 24 {
		t.Errorf("a task takes %d bytes, and 24 are enough", have)
	}
}
