package generate

import (
	"strings"
	"testing"
)

func TestSameSeedSameBytes(t *testing.T) {
	for seed := range uint64(50) {
		first, second := Worksheet(Everything(seed, 40)), Worksheet(Everything(seed, 40))
		if first != second {
			t.Fatalf("seed %d: two texts", seed)
		}
	}
	if Worksheet(Everything(1, 40)) == Worksheet(Everything(2, 40)) {
		t.Error("two seeds, one text")
	}
	first, second := Layered(5000, 3), Layered(5000, 3)
	if first != second || first == Layered(5000, 4) {
		t.Error("Layered does not follow its seed")
	}
}

func TestGearing150Has150Cells(t *testing.T) {
	cells := 0
	for _, line := range strings.Split(Gearing150(), "\n") {
		if line == "" || line[0] == ' ' {
			continue
		}
		if f := strings.Fields(line); len(f) > 1 && (f[1] == ":" || f[1] == "=") {
			cells++
		}
	}
	if cells != 150 {
		t.Errorf("%d cells", cells)
	}
}
