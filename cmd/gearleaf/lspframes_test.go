package main

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// TestFrames passes messages on byte for byte, whatever is in them, and
// stops before one that is too large.
func TestFrames(t *testing.T) {
	body := "Content-Length: 99999999999\r\n\r\n" + strings.Repeat("x", 10_000)
	message := fmt.Sprintf("Content-Type: a\r\nContent-Length: %d\r\n\r\n%s", len(body), body)
	for _, in := range []io.Reader{strings.NewReader(message + message), iotest.OneByteReader(strings.NewReader(message + message))} {
		got, err := io.ReadAll(newFrames(in))
		if err != nil || !bytes.Equal(got, []byte(message+message)) {
			t.Errorf("%d of %d bytes, %v", len(got), 2*len(message), err)
		}
	}
	for text, want := range map[string]string{
		"content-length: 67108865\n\n":                        "the most is 64 MiB",
		"Content-Length: 99999999999999999999999\r\n\r\n":     "the most is 64 MiB",
		message + "Content-Length:67108865\r\n":               "the most is 64 MiB",
		"Content-Length: " + strings.Repeat("1", 1<<20) + "0": "header line",
		"Content-Length: 2\r\nContent-Length: 67108865\r\n":   "the most is 64 MiB",
	} {
		if _, err := io.ReadAll(newFrames(strings.NewReader(text))); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: %v", text, err)
		}
	}
}
