package kernel

import "math"

// product returns a · b rounded and its rounding error, exactly: Dekker's
// product. The operands must not be so large, nor the product so small, that
// their halves are not ordinary numbers.
func product(a, b float64) (high, low float64) {
	ah, al := halves(a)
	bh, bl := halves(b)
	p := float64(a * b)
	rest := ((float64(ah*bh) - p) + float64(ah*bl)) + float64(al*bh)
	return p, rest + float64(al*bl)
}

// halves returns x as the sum of two numbers of 26 bits each.
func halves(x float64) (high, low float64) {
	c := float64((0x1p27 + 1) * x)
	h := c - (c - x)
	return h, x - h
}

// scale returns y · 2^n, y near 1, rounded once.
func scale(y float64, n int) float64 {
	switch {
	case n > 1000:
		return float64(float64(y*0x1p200) * power2(n-200))
	case n < -1000:
		return float64(float64(y*power2(n+200)) * 0x1p-200)
	}
	return float64(y * power2(n))
}

// power2 returns 2^n for an n that ordinary numbers have.
func power2(n int) float64 { return math.Float64frombits(uint64(n+bias) << 52) }
