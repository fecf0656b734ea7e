package export

import (
	"bytes"
	"hash/crc32"
	"math/bits"
	"runtime"
	"sync"

	"github.com/klauspost/compress/flate"
)

// pieces is a long part of a workbook, deflated in pieces on all cores. Each
// piece ends at a byte boundary, so concatenated they are one stream.
type pieces struct {
	slots chan struct{}
	all   []*piece
	wait  sync.WaitGroup
}

// piece is a deflated piece, its length before, and its checksum.
type piece struct {
	data []byte
	size int
	sum  uint32
}

// tabRows are the rows of a workbook's tabs, by the names of their parts.
type tabRows struct {
	tabs  map[string]*rowText
	slots chan struct{}
}

func newTabRows() *tabRows {
	return &tabRows{tabs: map[string]*rowText{}, slots: make(chan struct{}, runtime.GOMAXPROCS(0))}
}

func newPieces(slots chan struct{}) *pieces { return &pieces{slots: slots} }

var (
	deflaters = sync.Pool{New: func() any {
		w, err := flate.NewWriter(nil, deflateLevel)
		if err != nil {
			panic(err) // the level is a constant
		}
		return w
	}}
	texts = sync.Pool{New: func() any { b := make([]byte, 0, pieceSize+pieceSize/4); return &b }}
)

// deflateLevel is the level above which a workbook hardly gets smaller.
const deflateLevel = 6

// add deflates text while the caller continues with the empty buffer that is
// returned. It waits while all cores are busy.
func (p *pieces) add(text []byte) []byte {
	one := &piece{size: len(text)}
	p.all = append(p.all, one)
	p.slots <- struct{}{}
	p.wait.Go(func() {
		one.deflate(text)
		text = text[:0]
		texts.Put(&text)
		<-p.slots
	})
	return (*texts.Get().(*[]byte))[:0]
}

// deflate fills the piece.
func (p *piece) deflate(text []byte) {
	p.size, p.sum = len(text), crc32.ChecksumIEEE(text)
	var out bytes.Buffer
	out.Grow(len(text)/8 + 64)
	w := deflaters.Get().(*flate.Writer)
	w.Reset(&out)
	_, _ = w.Write(text) // a buffer takes everything
	_ = w.Flush()
	deflaters.Put(w)
	p.data = out.Bytes()
}

// join returns the pieces as one deflated stream, its length before, and its
// checksum.
func (p *pieces) join() (data []byte, size int, sum uint32) {
	p.wait.Wait()
	n := 0
	for _, one := range p.all {
		n += len(one.data)
	}
	data = make([]byte, 0, n+2)
	for _, one := range p.all {
		data = append(data, one.data...)
		sum = joinedSum(sum, one.sum, one.size)
		size += one.size
	}
	return append(data, 3, 0), size, sum // a last block, empty
}

// joinedSum returns the checksum of two texts, one after the other, from theirs
// and the second one's length: the first is multiplied by x to the power of so
// many bits, in the polynomials over GF(2) that the checksum divides by.
func joinedSum(first, second uint32, length int) uint32 {
	power := uint32(1) << 31 >> 8 // x^8, with the highest bit for x^0
	for n := length; n > 0; n >>= 1 {
		if n&1 == 1 {
			first = polynomialProduct(first, power)
		}
		power = polynomialProduct(power, power)
	}
	return first ^ second
}

func polynomialProduct(a, b uint32) uint32 {
	product := uint32(0)
	for ; a != 0; a &^= 1 << 31 >> bits.LeadingZeros32(a) {
		shift := bits.LeadingZeros32(a)
		product ^= timesX(b, shift)
	}
	return product
}

// timesX multiplies by x^n, modulo the checksum's polynomial.
func timesX(b uint32, n int) uint32 {
	for range n {
		b = b>>1 ^ crc32.IEEE&-(b&1)
	}
	return b
}
