package passbook

import (
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// early is a book as the first version wrote it, with two columns.
const early = "pass,note,check\n" +
	"1,first,96f8006d30f5\n" +
	"2,\"with \"\"quotes\"\", commas\",5a6fd39b43a5\n" +
	"3,,3c981f052cbb\n"

func writeBook(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.csv")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func problems(b *Book) (out []string) {
	for _, l := range b.Lines {
		if l.Problem != "" {
			out = append(out, l.Problem)
		}
	}
	return out
}

// TestNewColumn adds columns to a book that has passes: the earlier ones are
// blank there, and are as they were written.
func TestNewColumn(t *testing.T) {
	path := writeBook(t, early)
	a, err := Add(path, []string{"wind", "note", "=track"}, map[string]string{"wind": "head, 10 mph", "=track": "-1"})
	if err != nil || a.Pass != 4 || strings.Join(a.Columns, " ") != "wind =track" {
		t.Fatalf("%+v, %v", a, err)
	}
	if a, err = Add(path, []string{"note"}, map[string]string{"note": "narrow"}); err != nil || a.Pass != 5 || len(a.Columns) != 0 {
		t.Fatalf("%+v, %v", a, err)
	}
	b := mustRead(t, path)
	if got := strings.Join(b.Head, "|"); got != "pass|note|wind|=track" {
		t.Errorf("the head is %s", got)
	}
	for i, want := range []string{"1|first||", `2|with "quotes", commas||`, "3|||", "4||head, 10 mph|-1", "5|narrow||"} {
		if l := b.Lines[i]; l.Problem != "" || strings.Join(l.Fields, "|") != want {
			t.Errorf("line %d: %q, want %q (%s)", l.At, strings.Join(l.Fields, "|"), want, l.Problem)
		}
	}
	text, _ := os.ReadFile(path)
	if records, err := csv.NewReader(strings.NewReader(string(text))).ReadAll(); err != nil {
		t.Errorf("%v in %d records", err, len(records))
	}
}

// TestNewColumnOfChangedBook widens a book with lines that were changed, cut
// off, quoted or have too many fields: none is lost, and none becomes whole.
func TestNewColumnOfChangedBook(t *testing.T) {
	text := "\xEF\xBB\xBF\"pass\",\"note\",\"check\"\r\n" + strings.Replace(strings.SplitAfterN(early, "\n", 2)[1], "first", "fist", 1) +
		"4,a,b,c\n\"5\",\"\",\"0123\"\n6,cut o"
	path := writeBook(t, text)
	was := problems(mustRead(t, path))
	a, err := Add(path, []string{"wind"}, map[string]string{"wind": "none"})
	if err != nil || a.CutOff != 7 || a.Pass != 7 {
		t.Fatalf("%+v, %v", a, err)
	}
	b := mustRead(t, path)
	if now := problems(b); len(b.Lines) != 7 || len(now) != len(was) || now[0] != was[0] || now[3] != was[3] {
		t.Errorf("problems\n%s\nbecame\n%s", strings.Join(was, "\n"), strings.Join(now, "\n"))
	}
	now, _ := os.ReadFile(path)
	for _, kept := range []string{"1,fist,", "4,a,b,c\n", "6,cut o"} {
		if !strings.Contains(string(now), kept) {
			t.Errorf("%q is lost:\n%s", kept, now)
		}
	}
}

// TestNewColumnBound adds more columns than a book may have: nothing changes.
func TestNewColumnBound(t *testing.T) {
	path := writeBook(t, early)
	head, values := make([]string, maxFields), map[string]string{}
	for i := range head {
		head[i] = "c" + strings.Repeat("x", i)
		values[head[i]] = "1"
	}
	if _, err := Add(path, head, values); err == nil || !strings.Contains(err.Error(), "bound") {
		t.Errorf("%v", err)
	}
	if text, _ := os.ReadFile(path); string(text) != early {
		t.Errorf("the book is now\n%s", text)
	}
}

// TestChangedBlank changes a blank of a line that columns were added to: its
// check sum still shows it.
func TestChangedBlank(t *testing.T) {
	path := writeBook(t, early)
	if _, err := Add(path, []string{"wind"}, map[string]string{"wind": "none"}); err != nil {
		t.Fatal(err)
	}
	text, _ := os.ReadFile(path)
	if err := os.WriteFile(path, []byte(strings.Replace(string(text), "first,,", "first,tail,", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	if got := problems(mustRead(t, path)); len(got) != 1 || got[0] != changed {
		t.Errorf("%q", got)
	}
}

// TestKilledWhileWidening kills writers that add a column a pass at any time:
// every pass that was reported as written is in the book.
func TestKilledWhileWidening(t *testing.T) {
	path := writeBook(t, early)
	for i := range 12 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "PASSBOOK_COLUMNS="+path, "PASSBOOK_NAME="+string(rune('a'+i)))
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		reported := make([]byte, 1+i%5) // a letter a pass
		for n := 0; n < len(reported); {
			m, err := out.Read(reported[n:])
			if n += m; err != nil {
				t.Fatal(err)
			}
		}
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		b := mustRead(t, path)
		count := 0
		for _, l := range b.Lines {
			if l.Problem == "" && strings.Contains(strings.Join(l.Fields, "|"), "killed "+string(rune('a'+i))) {
				count++
			}
		}
		if count < len(reported) {
			t.Fatalf("%d passes of writer %d are in the book, %d were reported", count, i, len(reported))
		}
	}
}

// TestTrusted reads only the pass of a truncated line, and reports all
// problems; another file stays unchanged.
func TestTrusted(t *testing.T) {
	text := strings.Replace(early, "first", "fist", 1)
	for cut, kept := range map[string]string{"14,cut o": "14,,", "1": "", "1,,\n": "\n"} {
		got, doubts := Trusted("book.csv", []byte(text+cut))
		if want := text + kept; string(got) != want || len(doubts) != 2 {
			t.Errorf("%q, want %q: %q", got, want, doubts)
		}
	}
	_, doubts := Trusted("book.csv", []byte(text+"4,cut o"))
	want := "line 2: " + changed + "\nline 5 is truncated: only its pass is read"
	if strings.Join(doubts, "\n") != want {
		t.Errorf("%q, want %q", doubts, want)
	}
	for _, text := range []string{"", "pass,note\n1,2\n", "pass;note;check\n1;2;3\n"} {
		if got, doubts := Trusted("x", []byte(text)); string(got) != text || doubts != nil {
			t.Errorf("%q becomes %q: %q", text, got, doubts)
		}
	}
}

// TestWritersWithColumns lets writers that each bring columns write at the same
// time: no column and no pass is lost, and every line is whole.
func TestWritersWithColumns(t *testing.T) {
	path := writeBook(t, early)
	writeTogether(t, "PASSBOOK_COLUMNS="+path, "PASSBOOK_COUNT=25")
	b := mustRead(t, path)
	if bad := problems(b); len(b.Lines) != 3+75 || len(b.Head) != 2+75 || len(bad) > 0 {
		t.Fatalf("%d lines, %d columns, %q", len(b.Lines), len(b.Head), bad)
	}
	for _, l := range b.Lines[3:] {
		filled := 0
		for i, f := range l.Fields[1:] {
			if f != "" {
				filled++
				if f != "killed "+b.Head[i+1] {
					t.Errorf("line %d has %q below %s", l.At, f, b.Head[i+1])
				}
			}
		}
		if filled != 1 || l.Missing != "" {
			t.Errorf("line %d has %d values: %s", l.At, filled, l.Missing)
		}
	}
}
