package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"sync"
	"unicode/utf8"

	"golang.org/x/term"

	"gearleaf/sheet/diag"
)

// screen is the only way from a command to its standard output or error.
// Control characters are replaced by visible ones, wherever they come from:
// names of files, headings, cells, notes. Only the program's own sequences,
// which begin with ours, pass. The first write that fails is remembered.
type screen struct {
	w       io.Writer
	mutex   sync.Mutex // a server writes from a goroutine of its own
	pending []byte     // the beginning of a character whose end has not come yet
	err     error
}

// ours stands for the escape character in sequences of our own. It cannot be
// guessed, so no text that is read can contain it.
var ours = fmt.Sprintf("\x1b<%016x>", rand.Uint64())

// own returns a sequence of our own.
func own(sequence string) string { return ours + sequence }

// ownColors are the sequences that paint puts around a text.
var ownColors = regexp.MustCompile(regexp.QuoteMeta(ours) + `\[[0-9;]*m`)

// Write passes on p with control characters replaced.
func (s *screen) Write(p []byte) (int, error) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	text := p
	if len(s.pending) > 0 {
		text = append(s.pending, p...)
		s.pending = nil
	}
	if cut := unfinished(text); cut > 0 {
		s.pending = bytes.Clone(text[len(text)-cut:])
		text = text[:len(text)-cut]
	}
	if err := s.pass(visible(text)); err != nil {
		return 0, err
	}
	return len(p), nil
}

// pass writes p as it is; the mutex is locked.
func (s *screen) pass(p []byte) error {
	n, err := s.w.Write(p)
	if err == nil && n < len(p) {
		err = io.ErrShortWrite
	}
	if s.err == nil {
		s.err = err
	}
	return err
}

// end passes on an incomplete character.
func (s *screen) end() error {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if len(s.pending) > 0 {
		_ = s.pass(visible(s.pending))
		s.pending = nil
	}
	return s.err
}

// unfinished returns how many bytes at the end of p begin a character that
// goes on behind p.
func unfinished(p []byte) int {
	for n := 1; n <= utf8.UTFMax-1 && n <= len(p); n++ {
		if c := p[len(p)-n]; utf8.RuneStart(c) {
			if c >= utf8.RuneSelf && !utf8.FullRune(p[len(p)-n:]) {
				return n
			}
			return 0
		}
	}
	return 0
}

// visible replaces control characters; tabs and line ends are kept.
func visible(p []byte) []byte {
	if !suspicious(p) {
		return p
	}
	var out strings.Builder
	for text := string(p); text != ""; {
		if rest, found := strings.CutPrefix(text, ours); found {
			out.WriteByte('\x1b')
			text = rest
			continue
		}
		r, n := utf8.DecodeRuneInString(text)
		switch r {
		case '\n', '\t':
			out.WriteRune(r)
		default:
			out.WriteRune(diag.Visible(r))
		}
		text = text[n:]
	}
	return []byte(out.String())
}

// suspicious reports whether p may hold something to replace: a control
// character, or the first byte of one that is written in several.
func suspicious(p []byte) bool {
	for _, c := range p {
		switch {
		case c < ' ' && c != '\n' && c != '\t', c == 0x7f, c == 0xC2, c == 0xD8, c == 0xEF:
			return true
		}
	}
	return bytes.Contains(p, []byte("\xE2\x80")) || bytes.Contains(p, []byte("\xE2\x81")) || !utf8.Valid(p)
}

// data returns the writer for data, such as JSON and workbooks: unchanged to a
// file or another program, to a terminal like everything else.
func data(w io.Writer) io.Writer {
	if isTerminal(w) {
		return w
	}
	return direct(w)
}

// direct returns the writer for code that replaces control characters itself,
// as the printer of diagnostics does.
func direct(w io.Writer) io.Writer {
	if s, ok := w.(*screen); ok {
		return straight{s}
	}
	return w
}

// straight passes bytes on as they are.
type straight struct{ s *screen }

// Write writes p.
func (d straight) Write(p []byte) (int, error) {
	d.s.mutex.Lock()
	defer d.s.mutex.Unlock()
	if err := d.s.pass(p); err != nil {
		return 0, err
	}
	return len(p), nil
}

// terminalOf returns the terminal that w writes to, nil if there is none.
func terminalOf(w io.Writer) *os.File {
	if s, ok := w.(*screen); ok {
		w = s.w
	}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return f
	}
	return nil
}

func isTerminal(w io.Writer) bool { return terminalOf(w) != nil }
