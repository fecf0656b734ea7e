package main

import "testing"

// TestDifferenceHasTheValuesDigits: a difference is that of the values. To a step
// that is coarse against it, it has more figures than the values, and never fewer
// decimals: 10.50 → 11.50 is by 1.20 what 10.38 → 11.58 is.
func TestDifferenceHasTheValuesDigits(t *testing.T) {
	for _, c := range []struct {
		delta, step float64
		want        string
	}{
		{1.2, 0.25, "1.20"},
		{1.2, 0.5, "1.2"},
		{0.2, 0.25, "0.20"},
		{-0.0123, 0.25, "-0.012"},
		{2.6, 0.25, "2.50"},
		{1, 0.01, "1.00"},
		{0.012, 0.01, "0.012"},
		{15, 10, "15"},
		{4.24, 10, "4.2"},
		{344, 100, "340"},
		{1234, 100, "1200"},
		{0, 0.25, "0.00"},
		{1.23456, 0, "1.235"},
	} {
		if got := deltaNumber(c.delta, c.step); got != c.want {
			t.Errorf("%v to %v is %s, want %s", c.delta, c.step, got, c.want)
		}
	}
}
