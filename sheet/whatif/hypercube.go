package whatif

import "math/bits"

// Hypercube draws the points of a Latin hypercube: on every axis each of N
// equal slices has one point. Any point is computed without those before it, so
// a billion of them need no memory and parts can be drawn separately. The same
// seed draws the same points.
type Hypercube struct {
	N    int
	Seed uint64
}

// At returns where in 0..1 point i lies on an axis.
func (h Hypercube) At(i, axis int) float64 {
	key := mix(h.Seed ^ mix(uint64(axis)+1))
	slice := shuffle(uint64(i), uint64(h.N), key)
	inside := float64(float64(mix(key^mix(uint64(i)+0x1A71))>>11) / (1 << 53))
	return min((float64(slice)+inside)/float64(h.N), oneLess)
}

// oneLess is the float64 before 1.
const oneLess = 1 - 0x1p-53

// mix spreads x over 64 bits (the finaliser of SplitMix64).
func mix(x uint64) uint64 {
	x += 0x9E3779B97F4A7C15
	x = (x ^ x>>30) * 0xBF58476D1CE4E5B9
	x = (x ^ x>>27) * 0x94D049BB133111EB
	return x ^ x>>31
}

// shuffleRounds is the number of rounds of shuffle's Feistel network.
const shuffleRounds = 6

// shuffle returns the place of i in an order of 0..n-1 that key chooses: a
// Feistel network over the next power of four, applied until the result is
// below n.
func shuffle(i, n, key uint64) uint64 {
	half := (bits.Len64(max(n, 2)-1) + 1) / 2
	mask := uint64(1)<<half - 1
	for {
		left, right := i>>half, i&mask
		for round := range uint64(shuffleRounds) {
			left, right = right, left^(mix(right^key+round*0xD1B54A32D192ED03)&mask)
		}
		if i = left<<half | right; i < n {
			return i
		}
	}
}
