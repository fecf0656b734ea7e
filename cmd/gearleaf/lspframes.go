package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// mostMessage bounds the bytes of one message from an editor.
const mostMessage = 64 << 20

// frames passes an editor's messages on, and refuses a message whose header
// announces too many bytes, and a header line that is too long: the reader
// would allocate that much memory.
type frames struct {
	in     *bufio.Reader
	line   []byte // the rest of a header line
	ended  bool   // line is the last one of its header
	length int64  // that the header has announced
	body   int64  // remaining bytes of the message
}

func newFrames(in io.Reader) *frames { return &frames{in: bufio.NewReader(in)} }

// Read reads into b, at most one line of a header.
func (r *frames) Read(b []byte) (int, error) {
	if r.body > 0 {
		n, err := r.in.Read(b[:min(int64(len(b)), r.body)])
		r.body -= int64(n)
		return n, err
	}
	if len(r.line) == 0 {
		if err := r.next(); err != nil {
			return 0, err
		}
	}
	n := copy(b, r.line)
	if r.line = r.line[n:]; len(r.line) == 0 && r.ended {
		r.body, r.length, r.ended = r.length, 0, false
	}
	return n, nil
}

// next reads the next line of a header.
func (r *frames) next() error {
	line, err := r.in.ReadSlice('\n')
	switch {
	case errors.Is(err, bufio.ErrBufferFull):
		return fmt.Errorf("a header line has more than %d bytes", len(line))
	case len(line) == 0:
		return err
	}
	r.line = append(r.line[:0], line...)
	r.ended = strings.TrimRight(string(line), "\r\n") == ""
	return r.header(string(line))
}

// header reads the length of the message from a line of its header.
func (r *frames) header(line string) error {
	name, value, _ := strings.Cut(strings.TrimSpace(line), ":")
	if !strings.EqualFold(name, "content-length") {
		return nil
	}
	value = strings.TrimSpace(value)
	n, err := strconv.ParseInt(value, 10, 64)
	if errors.Is(err, strconv.ErrRange) || n > mostMessage {
		return fmt.Errorf("a message of %s bytes: the most is %d MiB", value, mostMessage>>20)
	}
	r.length = n
	return nil
}
