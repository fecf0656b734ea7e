package runlog

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// The byte order marks of texts.
var (
	markUTF8  = []byte("\xEF\xBB\xBF")
	markUTF16 = [][]byte{[]byte("\xFF\xFE"), []byte("\xFE\xFF")}
)

// encodingOf returns the encoding of a file that begins with sample: UTF-8,
// which is nil, UTF-16 with its mark, or else the code page of Windows for
// western Europe, in which loggers write a degree sign. whole says that the
// sample is the whole file.
func encodingOf(sample []byte, whole bool) encoding.Encoding {
	for _, mark := range markUTF16 {
		if bytes.HasPrefix(sample, mark) {
			return unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM)
		}
	}
	if validStart(sample, whole) {
		return nil
	}
	return charmap.Windows1252
}

// validStart reports whether sample is UTF-8, except for a rune truncated at
// its end.
func validStart(sample []byte, whole bool) bool {
	for n := 0; n < utf8.UTFMax && !whole && n < len(sample); n++ {
		if at := len(sample) - 1 - n; utf8.RuneStart(sample[at]) {
			if !utf8.FullRune(sample[at:]) {
				sample = sample[:at]
			}
			break
		}
	}
	return utf8.Valid(sample)
}

// decoded returns a reader of r's text in UTF-8, without a byte order mark.
func decoded(r io.Reader) (*bufio.Reader, error) {
	in := bufio.NewReaderSize(r, maxLine)
	sample, err := in.Peek(sampled)
	whole := errors.Is(err, io.EOF)
	if err != nil && !whole {
		return nil, err
	}
	if e := encodingOf(sample, whole); e != nil {
		in = bufio.NewReaderSize(e.NewDecoder().Reader(in), maxLine)
		if sample, err = in.Peek(sampled); err != nil && !errors.Is(err, io.EOF) {
			return nil, err
		}
	} else if bytes.HasPrefix(sample, markUTF8) {
		in.Discard(len(markUTF8))
	}
	if endsByReturn(sample) {
		in = bufio.NewReaderSize(returns{in}, maxLine)
	}
	return in, nil
}

// endsByReturn reports whether the lines of a text end with a carriage return
// alone, as those of some loggers do.
func endsByReturn(sample []byte) bool {
	return bytes.IndexByte(sample, '\r') >= 0 && bytes.IndexByte(sample, '\n') < 0
}

// returns reads such a text with the usual ends of lines.
type returns struct{ in io.Reader }

// Read reads into b.
func (r returns) Read(b []byte) (int, error) {
	n, err := r.in.Read(b)
	for i, c := range b[:n] {
		if c == '\r' {
			b[i] = '\n'
		}
	}
	return n, err
}

// decodedText returns data in UTF-8, without a byte order mark.
func decodedText(data []byte) ([]byte, error) {
	if e := encodingOf(data, true); e != nil {
		var err error
		if data, err = e.NewDecoder().Bytes(data); err != nil {
			return nil, err
		}
	}
	data = bytes.TrimPrefix(data, markUTF8)
	if endsByReturn(data) {
		data = bytes.ReplaceAll(data, []byte{'\r'}, []byte{'\n'})
	}
	return data, nil
}
