package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/source"
)

// keys reads the answers, one key each: from a terminal as they are pressed,
// otherwise one byte each, without blanks.
type keys struct {
	in       *bufio.Reader
	terminal *os.File // nil if in is none
}

func newKeys(in io.Reader) *keys {
	k := &keys{in: bufio.NewReader(in)}
	if f, ok := in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		k.terminal = f
	}
	return k
}

// next returns the next key; 0 when there are no more.
func (k *keys) next() byte {
	if k.terminal != nil {
		if state, err := term.MakeRaw(int(k.terminal.Fd())); err == nil {
			defer term.Restore(int(k.terminal.Fd()), state)
		}
		key, err := k.in.ReadByte()
		if err != nil || key == 3 || key == 4 { // Ctrl-C, Ctrl-D
			return 0
		}
		return key
	}
	for {
		key, err := k.in.ReadByte()
		if err != nil {
			return 0
		}
		if key != ' ' && key != '\n' && key != '\r' {
			return key
		}
	}
}

// repairAll offers the repairs of list that are in the file at path itself and
// writes the chosen ones.
func repairAll(cmd *cobra.Command, path string, list diag.List, k *keys) error {
	file := ownFile(list, path)
	if file == nil {
		return nil
	}
	p := newPage(cmd.OutOrStdout())
	var chosen []diag.Edit
	for _, d := range list {
		if d.File != file || len(d.Repairs) == 0 {
			continue
		}
		repair, quit := offer(p, d, chosen, k)
		if quit {
			fmt.Fprintf(p.w, "%s was left as it is\n", path)
			return nil
		}
		if repair != nil {
			chosen = append(chosen, repair.Edits...)
		}
	}
	if len(chosen) == 0 {
		return nil
	}
	if err := disk.Replace(path, file.Text, diag.Apply(file.Text, chosen)); err != nil {
		return err
	}
	fmt.Fprintf(p.w, "wrote %s\n", path)
	return nil
}

// ownFile returns the text of the file at path from the diagnostics.
func ownFile(list diag.List, path string) *source.File {
	for _, d := range list {
		if d.File != nil && d.File.Name == path {
			return d.File
		}
	}
	return nil
}

// offer shows one diagnostic with its repairs and asks for a key.
func offer(p page, d diag.Diagnostic, chosen []diag.Edit, k *keys) (repair *diag.Repair, quit bool) {
	open := openRepairs(d, chosen)
	if len(open) == 0 {
		return nil, false
	}
	at := d.File.Position(d.Span.Start)
	p.hang("", fmt.Sprintf("%s:%d:%d: %s", d.File.Name, at.Line, at.Column, d.Message))
	for i, r := range open {
		p.hang("  ", fmt.Sprintf("%d  %s", i+1, r.Title))
		p.showEdits(d.File, r.Edits)
	}
	for {
		fmt.Fprintf(p.w, "  %s, s leaves it, q stops: ", keyRange(len(open)))
		flush(p.w)
		key := k.next()
		fmt.Fprintln(p.w, keyName(key))
		switch {
		case key == 0 || key == 'q':
			return nil, true
		case key == 's' || key == '\r' || key == '\n':
			return nil, false
		case key >= '1' && int(key-'1') < len(open):
			return &open[key-'1'], false
		}
	}
}

// openRepairs returns the repairs of d that do not touch the chosen edits. One
// that changes a value is never offered alone: if the repair that keeps the
// value is no longer possible, the next check reports what is left.
func openRepairs(d diag.Diagnostic, chosen []diag.Edit) []diag.Repair {
	var open []diag.Repair
	keeps := false
	for _, r := range d.Repairs {
		if !touches(r.Edits, chosen) && len(open) < 9 {
			open = append(open, r)
			keeps = keeps || !r.Changes
		}
	}
	if !keeps {
		return nil
	}
	return open
}

// keyName is a key as it is echoed.
func keyName(key byte) string {
	if key <= ' ' || key > '~' {
		return ""
	}
	return string(key)
}

func keyRange(n int) string {
	if n == 1 {
		return "1 repairs it"
	}
	return fmt.Sprintf("1 to %d repair it", n)
}

// hang writes text wrapped, with a hanging margin.
func (p page) hang(margin, text string) {
	for _, part := range wrap(text, p.width-len(margin)) {
		fmt.Fprintln(p.w, margin+part)
	}
}

// mostShown is the largest number of lines of an edit that are shown.
const mostShown = 12

// showEdits shows each line that edits touch, before and after.
func (p page) showEdits(f *source.File, edits []diag.Edit) {
	first, last := f.LineOf(edits[0].Span.Start), f.LineOf(edits[0].Span.End)
	for _, e := range edits {
		first, last = min(first, f.LineOf(e.Span.Start)), max(last, f.LineOf(e.Span.End))
	}
	if n := last - first + 1; n > mostShown {
		fmt.Fprintf(p.w, "     %s are replaced\n", counted(int(n), "line", "lines"))
		return
	}
	whole := source.Span{Start: f.Line(first).Start, End: f.Line(last).End}
	var shifted []diag.Edit
	for _, e := range edits {
		e.Span.Start -= whole.Start
		e.Span.End -= whole.Start
		shifted = append(shifted, e)
	}
	for text := range strings.Lines(f.Slice(whole)) {
		fmt.Fprintln(p.w, cut("     - "+strings.TrimRight(text, "\r\n"), p.width))
	}
	for text := range strings.Lines(diag.Apply(f.Slice(whole), shifted)) {
		fmt.Fprintln(p.w, p.bold(cut("     + "+strings.TrimRight(text, "\r\n"), p.width)))
	}
}

// touches reports whether an edit of a overlaps one of b.
func touches(a, b []diag.Edit) bool {
	for _, x := range a {
		for _, y := range b {
			if x.Span == y.Span || x.Span.Start < y.Span.End && y.Span.Start < x.Span.End {
				return true
			}
		}
	}
	return false
}
