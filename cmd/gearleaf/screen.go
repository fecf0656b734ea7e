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

// screen is the writer for all standard output and error of commands. It
// replaces control characters from any source, such as names of files,
// headings, cells and notes, by visible ones. Only the program's own sequences,
// which begin with ours, pass. A line wider than width is folded. The first
// write error is kept.
type screen struct {
	w       io.Writer
	width   int        // the widest line; 0 for any
	mutex   sync.Mutex // a server writes from a goroutine of its own
	pending []byte     // the beginning of a character, or of a line to be folded
	open    bool       // the beginning of this line is already written
	err     error
}

// newScreen returns the screen for w. For a file or a pipe its width is piped:
// 80 for standard output; any for standard error, from which programs read one
// message per line.
func newScreen(w io.Writer, piped int) *screen {
	s := &screen{w: w, width: piped}
	if columns, known := columnsOf(s); known {
		s.width = columns
	}
	return s
}

// ours replaces the escape character in the program's own sequences. It cannot
// be guessed, so no input can contain it.
var ours = fmt.Sprintf("\x1b<%016x>", rand.Uint64())

// own returns one of the program's own sequences.
func own(sequence string) string { return ours + sequence }

// ownColors are the sequences that paint puts around a text.
var ownColors = regexp.MustCompile(regexp.QuoteMeta(ours) + `\[[0-9;]*m`)

// Write passes on p with control characters replaced and wide lines folded. An
// incomplete line waits for its end, or for flush.
func (s *screen) Write(p []byte) (int, error) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	text := p
	if len(s.pending) > 0 {
		text = append(s.pending, p...)
		s.pending = nil
	}
	rest := unfinished(text)
	if s.width > 0 {
		rest = len(text) - 1 - bytes.LastIndexByte(text, '\n')
	}
	if rest > 0 {
		s.pending = bytes.Clone(text[len(text)-rest:])
		text = text[:len(text)-rest]
	}
	if err := s.pass(s.fold(visible(text))); err != nil {
		return 0, err
	}
	return len(p), nil
}

// fold folds the lines of text, which are complete; the end of a line whose
// beginning is already written is not folded.
func (s *screen) fold(text []byte) []byte {
	if s.width == 0 || len(text) == 0 {
		return text
	}
	var out []byte
	for line := range bytes.Lines(text) {
		if s.open || len(line) <= s.width {
			out = append(out, line...)
		} else {
			for _, part := range folded(string(bytes.TrimSuffix(line, []byte("\n"))), s.width) {
				out = append(append(out, part...), '\n')
			}
		}
		s.open = false
	}
	return out
}

// flush writes the incomplete line of w, such as a question before its answer
// is read.
func flush(w io.Writer) {
	if s, ok := w.(*screen); ok {
		s.mutex.Lock()
		defer s.mutex.Unlock()
		s.finish()
	}
}

// lost reports whether a write to w has failed. A command that runs until it is
// stopped then ends.
func lost(w io.Writer) bool {
	s, ok := w.(*screen)
	if !ok {
		return false
	}
	s.mutex.Lock()
	defer s.mutex.Unlock()
	return s.err != nil
}

// finish writes what is pending; the mutex is locked.
func (s *screen) finish() {
	if len(s.pending) > 0 {
		s.open = true
		_ = s.pass(visible(s.pending))
		s.pending = nil
	}
}

// pass writes p unchanged; the mutex is locked.
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

// end writes an incomplete line and returns the first error.
func (s *screen) end() error {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if rest := unfinished(s.pending); s.width > 0 && len(s.pending) > rest {
		line := append(bytes.Clone(s.pending[:len(s.pending)-rest]), '\n')
		_ = s.pass(bytes.TrimSuffix(s.fold(visible(line)), []byte("\n")))
		s.pending = s.pending[len(s.pending)-rest:]
	}
	s.finish()
	return s.err
}

// unfinished returns the number of bytes at the end of p that begin an
// incomplete character.
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

// suspicious reports whether p may contain a control character, or the first
// byte of one with several bytes.
func suspicious(p []byte) bool {
	for _, c := range p {
		switch {
		case c < ' ' && c != '\n' && c != '\t', c == 0x7f, c == 0xC2, c == 0xD8, c == 0xEF:
			return true
		}
	}
	return bytes.Contains(p, []byte("\xE2\x80")) || bytes.Contains(p, []byte("\xE2\x81")) || !utf8.Valid(p)
}

// data returns the writer for data, such as JSON and workbooks: never folded,
// and unchanged to a file or another program. A terminal gets no control
// characters.
func data(w io.Writer) io.Writer {
	if s, ok := w.(*screen); ok {
		return straight{s: s, visible: isTerminal(w)}
	}
	return w
}

// pasted returns the writer for lines to be pasted elsewhere: without control
// characters, never folded.
func pasted(w io.Writer) io.Writer {
	if s, ok := w.(*screen); ok {
		return straight{s: s, visible: true}
	}
	return w
}

// direct returns the writer for code that replaces control characters itself,
// as the printer of diagnostics does; it folds.
func direct(w io.Writer) io.Writer {
	if s, ok := w.(*screen); ok {
		return straight{s: s, folds: true}
	}
	return w
}

// straight passes complete texts on unchanged, except as its fields select.
type straight struct {
	s              *screen
	visible, folds bool
}

// Write writes p.
func (d straight) Write(p []byte) (int, error) {
	d.s.mutex.Lock()
	defer d.s.mutex.Unlock()
	text := p
	if d.visible {
		text = append(bytes.Clone(d.s.pending), p...)
		rest := unfinished(text)
		d.s.pending = bytes.Clone(text[len(text)-rest:])
		text = visible(text[:len(text)-rest])
	} else {
		d.s.finish()
	}
	if d.folds {
		text = d.s.fold(text)
	}
	if err := d.s.pass(text); err != nil {
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
