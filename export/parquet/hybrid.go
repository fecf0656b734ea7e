package parquet

import "encoding/binary"

// shortestRun is the least number of equal values that are written as a run;
// fewer are packed with their neighbours.
const shortestRun = 8

// appendHybrid writes values of so many bits as runs of equal values and as
// packed groups of eight (the format's RLE/bit-packing hybrid).
func appendHybrid(out []byte, values []uint32, width int) []byte {
	from := 0 // of the values that are still to be packed
	for at := 0; at < len(values); {
		run := runLength(values[at:])
		// Only the last group may be padded: the run fills up the others.
		borrowed := (8 - (at-from)%8) % 8
		if run-borrowed < shortestRun {
			at += run
			continue
		}
		out = appendPacked(out, values[from:at+borrowed], width)
		out = binary.AppendUvarint(out, uint64(run-borrowed)<<1)
		for k, v := 0, values[at]; k < (width+7)/8; k, v = k+1, v>>8 {
			out = append(out, byte(v))
		}
		at += run
		from = at
	}
	return appendPacked(out, values[from:], width)
}

// runLength counts the values that equal the first.
func runLength(values []uint32) int {
	n := 1
	for n < len(values) && values[n] == values[0] {
		n++
	}
	return n
}

// appendPacked writes groups of eight values, the last one filled up with
// zeros, lowest bit first.
func appendPacked(out []byte, values []uint32, width int) []byte {
	if len(values) == 0 {
		return out
	}
	groups := (len(values) + 7) / 8
	out = binary.AppendUvarint(out, uint64(groups)<<1|1)
	var word uint64
	held := 0
	for i := range 8 * groups {
		if i < len(values) {
			word |= uint64(values[i]) << held
		}
		for held += width; held >= 8; held -= 8 {
			out = append(out, byte(word))
			word >>= 8
		}
	}
	return out
}
