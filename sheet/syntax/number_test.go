package syntax

import (
	"math/rand/v2"
	"strconv"
	"testing"
)

func TestShortFloatIsParseFloat(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	texts := []string{"0", "0.1", ".5", "999999999999999", "0.000000000000001", "00000000000000.1", "123456789012345.", "8.4"}
	for range 20_000 {
		text := strconv.FormatFloat(random.Float64()*float64(random.IntN(100_000)), 'f', random.IntN(12), 64)
		texts = append(texts, text)
	}
	short := 0
	for _, text := range texts {
		want, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := shortFloat(text); ok && got != want {
			t.Errorf("%s: got %v, want %v", text, got, want)
		} else if ok {
			short++
		}
	}
	if short < 10_000 {
		t.Errorf("only %d of %d numbers took the short way", short, len(texts))
	}
}
