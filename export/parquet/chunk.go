package parquet

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"math"
	"math/bits"
	"slices"
	"strings"
	"sync"

	"github.com/klauspost/compress/gzip"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

// chunk is one column of a row group in the form of the file: a dictionary page, if it
// has one, and one page of data.
type chunk struct {
	data []byte
	meta format.ColumnMetaData // offsets from the begin of data
	err  error
}

// placed returns the metadata of a chunk that begins at an offset in the file.
func (c *chunk) placed(at int64) format.ColumnMetaData {
	m := c.meta
	m.DataPageOffset += at
	if m.DictionaryPageOffset >= 0 {
		m.DictionaryPageOffset += at
	} else {
		m.DictionaryPageOffset = 0
	}
	return m
}

// encode returns the chunk of a column: texts as a dictionary, numbers as
// whichever is smaller, a dictionary or their bytes split into streams.
func encode(c Column, v Values) *chunk {
	switch c.Form {
	case Text:
		return encodeTexts(c, v.Texts)
	case Truth:
		return encodeTruths(c, v.Numbers)
	}
	return encodeNumbers(c, v.Numbers)
}

// begin returns an empty chunk.
func begin(c Column, n, nulls int) *chunk {
	return &chunk{meta: format.ColumnMetaData{
		Type: types[c.Form], PathInSchema: []string{c.Name}, Codec: format.Gzip, NumValues: int64(n),
		KeyValueMetadata: pairs(c.About), Statistics: format.Statistics{NullCount: int64(nulls)}, DictionaryPageOffset: -1,
	}}
}

func encodeNumbers(c Column, all []float64) *chunk {
	levels, some := present(all)
	plain := begin(c, len(all), len(all)-len(some))
	plain.bounds(some)
	whole := *plain
	plain.page(levels, format.ByteStreamSplit, split(some))
	places, dictionary := indexed(some)
	if dictionary == nil {
		return plain
	}
	whole.dictionary(len(dictionary), numbers(dictionary))
	whole.page(levels, format.RLEDictionary, indices(places, len(dictionary)))
	if len(whole.data) < len(plain.data) {
		return &whole
	}
	return plain
}

// present returns a level, 1 or 0, for each row, and the values that exist.
func present(all []float64) (levels []uint32, some []float64) {
	levels, some = make([]uint32, len(all)), make([]float64, 0, len(all))
	for i, v := range all {
		if v == v {
			levels[i] = 1
			some = append(some, v+0) // no negative zero
		}
	}
	return levels, some
}

// indexed returns the values as places in a dictionary, which is nil if it
// would hardly repeat.
func indexed(some []float64) (places []uint32, dictionary []float64) {
	known := map[float64]uint32{}
	places = make([]uint32, len(some))
	for i, v := range some {
		at, ok := known[v]
		if !ok {
			at = uint32(len(dictionary))
			known[v] = at
			if dictionary = append(dictionary, v); len(dictionary) > 64+len(some)/2 {
				return nil, nil
			}
		}
		places[i] = at
	}
	return places, dictionary
}

func encodeTruths(c Column, all []float64) *chunk {
	levels, some := present(all)
	out := begin(c, len(all), len(all)-len(some))
	packed := make([]byte, (len(some)+7)/8)
	for i, v := range some {
		if v != 0 {
			packed[i/8] |= 1 << (i % 8)
		}
	}
	if len(some) > 0 {
		out.meta.Statistics.MinValue = []byte{byte(slices.Min(some))}
		out.meta.Statistics.MaxValue = []byte{byte(slices.Max(some))}
	}
	out.page(levels, format.Plain, packed)
	return out
}

// longestBound is the longest text that statistics hold.
const longestBound = 64

func encodeTexts(c Column, all []string) *chunk {
	levels, places := make([]uint32, len(all)), make([]uint32, 0, len(all))
	var dictionary []string
	known := map[string]uint32{}
	for i, text := range all {
		if text == "" {
			continue
		}
		at, ok := known[text]
		if !ok {
			at = uint32(len(dictionary))
			known[text] = at
			dictionary = append(dictionary, strings.ToValidUTF8(text, "\uFFFD"))
		}
		levels[i] = 1
		places = append(places, at)
	}
	out := begin(c, len(all), len(all)-len(places))
	if len(dictionary) == 0 {
		out.page(levels, format.Plain, nil)
		return out
	}
	var plain []byte
	for _, text := range dictionary {
		plain = binary.LittleEndian.AppendUint32(plain, uint32(len(text)))
		plain = append(plain, text...)
	}
	out.dictionary(len(dictionary), plain)
	if least, most := slices.Min(dictionary), slices.Max(dictionary); max(len(least), len(most)) <= longestBound {
		out.meta.Statistics.MinValue, out.meta.Statistics.MaxValue = []byte(least), []byte(most)
	}
	out.page(levels, format.RLEDictionary, indices(places, len(dictionary)))
	return out
}

// bounds adds the least and the largest number to the statistics. A zero may
// be of either sign, as the format asks.
func (c *chunk) bounds(some []float64) {
	if len(some) == 0 {
		return
	}
	least, most := slices.Min(some), slices.Max(some)
	if least == 0 {
		least = math.Copysign(0, -1)
	}
	c.meta.Statistics.MinValue = numbers([]float64{least})
	c.meta.Statistics.MaxValue = numbers([]float64{most})
}

// dictionary adds the page of a dictionary of n values.
func (c *chunk) dictionary(n int, plain []byte) {
	c.meta.DictionaryPageOffset = int64(len(c.data))
	c.meta.Encoding = append(c.meta.Encoding, format.Plain)
	c.add(format.PageHeader{Type: format.DictionaryPage, DictionaryPageHeader: thrift.New(format.DictionaryPageHeader{
		NumValues: int32(n), Encoding: format.Plain,
	})}, plain)
}

// page adds the page of data: the levels, then the values.
func (c *chunk) page(levels []uint32, encoding format.Encoding, values []byte) {
	c.meta.DataPageOffset = int64(len(c.data))
	c.meta.Encoding = append(c.meta.Encoding, format.RLE, encoding)
	body := appendHybrid(make([]byte, 4, 4+len(values)+len(levels)/8+16), levels, 1)
	binary.LittleEndian.PutUint32(body, uint32(len(body)-4))
	c.add(format.PageHeader{Type: format.DataPage, DataPageHeader: thrift.New(format.DataPageHeader{
		NumValues: int32(len(levels)), Encoding: encoding, DefinitionLevelEncoding: format.RLE, RepetitionLevelEncoding: format.RLE,
	})}, append(body, values...))
}

// add compresses a page and adds it after its header.
func (c *chunk) add(h format.PageHeader, body []byte) {
	packed := deflate(body)
	h.UncompressedPageSize, h.CompressedPageSize = int32(len(body)), int32(len(packed))
	h.CRC = int32(crc32.ChecksumIEEE(packed))
	head, err := thrift.Marshal(new(thrift.CompactProtocol), &h)
	if err != nil {
		c.err = err
	}
	c.meta.TotalUncompressedSize += int64(len(head) + len(body))
	c.meta.TotalCompressedSize += int64(len(head) + len(packed))
	c.data = append(append(c.data, head...), packed...)
}

// deflaters are reused.
var deflaters = sync.Pool{New: func() any { return gzip.NewWriter(nil) }}

func deflate(body []byte) []byte {
	var out bytes.Buffer
	w := deflaters.Get().(*gzip.Writer)
	defer deflaters.Put(w)
	w.Reset(&out)
	_, _ = w.Write(body) // a buffer takes everything
	_ = w.Close()
	return out.Bytes()
}

// numbers writes numbers one after the other (PLAIN).
func numbers(values []float64) []byte {
	out := make([]byte, 0, 8*len(values))
	for _, v := range values {
		out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
	}
	return out
}

// split writes the first bytes of all numbers, then the second ones, and so on
// (BYTE_STREAM_SPLIT): signs, exponents and high digits compress.
func split(values []float64) []byte {
	n := len(values)
	out := make([]byte, 8*n)
	for i, v := range values {
		for k, b := 0, math.Float64bits(v); k < 8; k, b = k+1, b>>8 {
			out[k*n+i] = byte(b)
		}
	}
	return out
}

// indices writes places in a dictionary (RLE_DICTIONARY): the number of bits,
// then runs.
func indices(places []uint32, size int) []byte {
	width := max(1, bits.Len(uint(size-1)))
	return appendHybrid([]byte{byte(width)}, places, width)
}
