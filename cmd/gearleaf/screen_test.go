package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"gearleaf/export"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/outside"
)

// TestScreen holds what comes out of a screen to hold nothing that a terminal
// acts upon, however it is cut into writes.
func TestScreen(t *testing.T) {
	var all strings.Builder
	for r := rune(0); r < 0x2100; r++ {
		all.WriteRune(r)
	}
	text := all.String() + "\xff\x9b31m" + "\ufeff" + own("[1m") + "bold" + own("[0m") + "ä"
	for _, size := range []int{1, 2, 3, 7, len(text)} {
		var out bytes.Buffer
		s := &screen{w: &out, width: size % 2 * 60}
		for rest := []byte(text); len(rest) > 0; rest = rest[min(size, len(rest)):] {
			if _, err := s.Write(rest[:min(size, len(rest))]); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.end(); err != nil {
			t.Fatal(err)
		}
		got := out.String()
		if size > len(ours) && strings.Count(got, "\x1b") != 2 {
			t.Errorf("%d bytes a write: %d sequences of our own", size, strings.Count(got, "\x1b"))
		}
		for _, r := range strings.ReplaceAll(got, "\x1b", "") {
			if r != '\n' && r != '\t' && diag.Visible(r) != r {
				t.Fatalf("%d bytes a write: %U comes through", size, r)
			}
		}
		if !utf8.ValidString(got) || !strings.HasSuffix(got, "ä") || !strings.Contains(got, "␛") {
			t.Errorf("%d bytes a write: %.60q…", size, got)
		}
	}
}

// hostile turns the writing direction, clears the screen, sets colours and a
// title, in C0, C1 and as bytes that are not text.
const hostile = "a\x1b[2Jb\x1b]0;owned\ac\u009b31md\u202ee\x7ff\u2066g"

// TestNothingReachesTheTerminal puts what a terminal acts upon into every text
// that a command shows: names of files, heads, fields, notes of a book.
func TestNothingReachesTheTerminal(t *testing.T) {
	t.Chdir(t.TempDir())
	write := func(name, text string) string {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			outside.Missing(t, "no such names here: "+err.Error())
		}
		return name
	}
	named := write(strings.ReplaceAll(hostile, "/", "")+".leaf", "a : 1\nb = a\nlimit b <= 0\n")
	write("heads.csv", "x,"+hostile+"\n1,"+hostile+"\n2,"+hostile+"\n")
	heads := write("heads.leaf", "table t from \"heads.csv\"\n  x : from \"x\"\n  y : from \""+"absent"+"\"\n")
	cells := write("cells.leaf", "table t from \"cells.csv\"\n  x : from \"x\"\n  y : from \"y\"\n")
	write("cells.csv", "x,y\n1,"+hostile+"\n2,"+hostile+"\n")
	label := write("label.leaf", "a : 1 \""+hostile+"\"\n")
	direction := write("direction.leaf", "title \"a\u202eb\"\na : 1\n")
	logged := write("logged.leaf", "table run rows 3\n  time = prev(time) + 1 s start 0 s\n  speed = prev(speed) + 1 m/s start 0 m/s\n")
	write("log.csv", "time,"+hostile+"\n0,1\n1,2\n2,3\n")
	for _, args := range [][]string{
		{"calc", named},
		{"check", named},
		{"trace", named, "b"},
		{"export", named, "-o", hostile + ".json"},
		{"export", named, "-o", hostile},
		{"calc", hostile},
		{"calc", heads},
		{"calc", cells, "--full"},
		{"export", cells, "--format", "markdown", "-o", hostile + ".md"},
		{"calc", label},
		{"calc", direction},
		{"check", "--repair", direction},
		{"log", logged, "log.csv"},
		{"fit", logged, "log.csv", "--by", hostile},
		{"passes", "add", "book.csv", named, "note=" + hostile, hostile + "=x"},
		{"passes", "list", "book.csv"},
		{"new", hostile},
		{"functions", hostile},
		{hostile},
		{"calc", named, "--" + hostile},
		{"calc", named, "--set", hostile},
	} {
		var out, errs bytes.Buffer
		run(args, strings.NewReader("1\n"), &out, &errs)
		if out.Len()+errs.Len() == 0 {
			t.Errorf("%q prints nothing", args)
		}
		for _, r := range out.String() + errs.String() {
			if r != '\n' && r != '\t' && r != utf8.RuneError && diag.Visible(r) != r {
				t.Errorf("%q: %U reaches the terminal", args, r)
				break
			}
		}
	}
	left, err := filepath.Glob("*.gearleaf*")
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %q, %v", left, err)
	}
	if text, err := os.ReadFile(direction); err != nil || strings.Contains(string(text), "\u202e") {
		t.Errorf("the repair left %q", text)
	}
}

// TestFullDevice runs every command with its report on a full device: exit
// status 2 and a word.
func TestFullDevice(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		outside.Missing(t, "no such device here")
	}
	defer full.Close()
	t.Chdir(t.TempDir())
	quiet := func(args ...string) {
		t.Helper()
		var out bytes.Buffer
		if status := run(args, strings.NewReader(""), &out, &out); status == 2 {
			t.Fatalf("%q: %s", args, out.String())
		}
	}
	quiet("new", "quarter-mile")
	quiet("new", "sprocket-change")
	quiet("log", "quarter-mile.leaf", "run.csv", "--invent")
	quiet("export", "sprocket-change.leaf", "-o", "a.xlsx")
	quiet("passes", "add", "book.csv", "sprocket-change.leaf")
	commands := [][]string{
		{"calc", "sprocket-change.leaf"},
		{"calc", "sprocket-change.leaf", "--json"},
		{"change", "sprocket-change.leaf", "rear_sprocket=44"},
		{"sweep", "sprocket-change.leaf", "rear_sprocket=40..44", "--show", "chain_links"},
		{"solve", "quarter-mile.leaf", "elapsed_time=9", "--by", "shift_speed"},
		{"spread", "quarter-mile.leaf", "--show", "trap_speed", "--draws", "100"},
		{"compare", "sprocket-change.leaf", "a.xlsx"},
		{"log", "quarter-mile.leaf", "run.csv"},
		{"log", "quarter-mile.leaf", "run.csv", "--guess"},
		{"passes", "list", "book.csv"},
		{"passes", "add", "book.csv", "sprocket-change.leaf"},
		{"check", "sprocket-change.leaf"},
		{"fmt", "sprocket-change.leaf"},
		{"trace", "sprocket-change.leaf", "chain_links"},
		{"export", "sprocket-change.leaf", "-o", "-", "--format", "workbook"},
		{"export", "sprocket-change.leaf", "-o", "b.csv"},
		{"readback", "a.xlsx", "sprocket-change.leaf"},
		{"readback", "a.xlsx", "--text"},
		{"functions"},
		{"functions", "road_speed"},
		{"units"},
		{"version"},
		{"man"},
		{"new"},
		{"help"},
		{"completion", "bash"},
		{"best", "sprocket-change.leaf", "--max", "chain_links", "--by", "rear_sprocket"},
		{"worth", "sprocket-change.leaf", "rear_sprocket=1", "--show", "wheel_speed"},
		{"fit", "quarter-mile.leaf", "run.csv", "--by", "drag_area"},
		{"watch", "sprocket-change.leaf"},
		{"serve", "sprocket-change.leaf"},
		{"lsp"},
	}
	for _, f := range export.Formats() {
		commands = append(commands, []string{"export", "quarter-mile.leaf", "-o", "-", "--format", f.Name})
	}
	const body = `{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"capabilities":{}}}`
	initialize := fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body)
	seen := map[string]bool{}
	for _, args := range commands {
		seen[args[0]] = true
		var errs bytes.Buffer
		status := run(args, strings.NewReader(initialize), full, &errs)
		if status != 2 || !strings.Contains(errs.String(), "could not be written") && !strings.Contains(errs.String(), "no space") {
			t.Errorf("%q: status %d, %q", args, status, errs.String())
		}
	}
	for _, c := range newRoot().Commands() {
		if !seen[c.Name()] {
			t.Errorf("%s is not tried", c.Name())
		}
	}
}
