package passbook

import (
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestMain lets this binary be the second writer of TestTwoProcesses.
func TestMain(m *testing.M) {
	if path := os.Getenv("PASSBOOK_WRITER"); path != "" {
		for i := range 60 {
			note := strings.Repeat(os.Getenv("PASSBOOK_NAME"), 500+i)
			if _, err := Add(path, []string{"note"}, map[string]string{"note": note}); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
		}
		os.Exit(0)
	}
	if path := os.Getenv("PASSBOOK_COLUMNS"); path != "" {
		count, err := strconv.Atoi(os.Getenv("PASSBOOK_COUNT"))
		if err != nil {
			count = 200
		}
		for i := range count {
			name := os.Getenv("PASSBOOK_NAME") + strconv.Itoa(i)
			if _, err := Add(path, []string{name}, map[string]string{name: "killed " + name}); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
			fmt.Print(".")
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func mustAdd(t *testing.T, path, note string) Added {
	t.Helper()
	a, err := Add(path, []string{"note"}, map[string]string{"note": note})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func mustRead(t *testing.T, path string) *Book {
	t.Helper()
	b, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestAddAndRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.csv")
	notes := []string{"first", `with "quotes", commas`, "two\nlines", ""}
	for i, n := range notes {
		if a := mustAdd(t, path, n); a.Pass != i+1 || a.New != (i == 0) || a.CutOff != 0 {
			t.Errorf("%+v", a)
		}
	}
	b := mustRead(t, path)
	if len(b.Lines) != len(notes) || b.Torn {
		t.Fatalf("%+v", b)
	}
	for i, l := range b.Lines {
		if want := strings.ReplaceAll(notes[i], "\n", " "); l.Problem != "" || l.Fields[1] != want || l.Fields[0] != strconv.Itoa(i+1) {
			t.Errorf("%+v, want %q", l, want)
		}
	}
	if _, err := Add(path, nil, map[string]string{"notes": "x"}); err == nil || !strings.Contains(err.Error(), "no column notes") {
		t.Errorf("a value without a column gives %v", err)
	}
}

// TestCrashAnywhere cuts the book off after every byte, as a crash may: lines
// that were written whole are kept, a line that was not is reported, and the next
// pass gets its own line.
func TestCrashAnywhere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.csv")
	for _, n := range []string{"one", "two, with comma", "three"} {
		mustAdd(t, path, n)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for cut := 0; cut <= len(whole); cut++ {
		if err := os.WriteFile(path, whole[:cut], 0o644); err != nil {
			t.Fatal(err)
		}
		mustAdd(t, path, "after the crash")
		now, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(string(now), string(whole[:cut])) {
			t.Fatalf("cut at %d: what stood there is gone", cut)
		}
		if records, err := csv.NewReader(strings.NewReader(string(now))).ReadAll(); err != nil {
			t.Fatalf("cut at %d: %v in %d records", cut, err, len(records))
		}
		b := mustRead(t, path)
		want := max(0, strings.Count(string(whole[:cut]), "\n")-1)
		good := 0
		for _, l := range b.Lines {
			if l.Problem == "" {
				good++
			}
			if l.Missing != "" {
				t.Fatalf("cut at %d: %s", cut, l.Missing)
			}
		}
		last := b.Lines[len(b.Lines)-1]
		// A line that has lost nothing but its end is whole.
		if cut > 0 && cut < len(whole) && whole[cut] == '\n' && want+1 <= 3 && strings.Count(string(whole[:cut]), "\n") > 0 {
			want++
		}
		if good != want+1 || last.Fields[1] != "after the crash" || b.Torn {
			t.Fatalf("cut at %d: %d good lines, want %d: %+v", cut, good, want+1, b.Lines)
		}
	}
}

func TestChangedLine(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.csv")
	for _, n := range []string{"one", "two", "three", "four"} {
		mustAdd(t, path, n)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(data), "two", "six", 1)
	lines := strings.SplitAfter(text, "\n")
	if err := os.WriteFile(path, []byte(strings.Join(append(lines[:3:3], lines[4:]...), "")), 0o644); err != nil {
		t.Fatal(err)
	}
	b := mustRead(t, path)
	if len(b.Lines) != 3 || !strings.Contains(b.Lines[1].Problem, "changed") || b.Lines[2].Missing != "pass 3 is missing above" || b.Lines[2].Problem != "" {
		t.Errorf("%+v", b.Lines)
	}
}

func TestNoBook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "other.csv")
	for _, text := range []string{"time,speed\n1,2\n", "no line end", "\n"} {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := Add(path, []string{"note"}, nil); err == nil {
			t.Errorf("%q takes a pass", text)
		}
		if data, _ := os.ReadFile(path); string(data) != text {
			t.Errorf("%q is now %q", text, data)
		}
	}
}

// writeTogether runs three writers, a, b and c, at the same time.
func writeTogether(t *testing.T, env ...string) {
	t.Helper()
	var running []*exec.Cmd
	for _, name := range []string{"a", "b", "c"} {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(append(os.Environ(), env...), "PASSBOOK_NAME="+name)
		cmd.Stderr = os.Stderr
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		running = append(running, cmd)
	}
	for _, cmd := range running {
		if err := cmd.Wait(); err != nil {
			t.Fatal(err)
		}
	}
}

// TestTwoProcesses: writers at the same time do not mix their lines, lose one
// or count one twice.
func TestTwoProcesses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.csv")
	writeTogether(t, "PASSBOOK_WRITER="+path)
	b := mustRead(t, path)
	if len(b.Lines) != 180 {
		t.Fatalf("%d lines", len(b.Lines))
	}
	count := map[byte]int{}
	for _, l := range b.Lines {
		note := l.Fields[1]
		if l.Problem != "" || strings.Trim(note, note[:1]) != "" {
			t.Fatalf("line %d: %s", l.At, l.Problem)
		}
		count[note[0]]++
	}
	if len(count) != 3 || count['a'] != 60 || count['b'] != 60 {
		t.Errorf("%v", count)
	}
}

func TestKeep(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.csv")
	hash := strings.Repeat("0123456789abcdef", 4)
	files := []File{{"bike.leaf", []byte("a")}, {"parts/log.csv", []byte("b")}, {"../out.leaf", []byte("c")}}
	for range 2 {
		if err := Keep(path, hash, files); err != nil {
			t.Fatal(err)
		}
	}
	for name, want := range map[string]string{"bike.leaf": "a", "parts/log.csv": "b", "out.leaf": "c"} {
		if data, err := os.ReadFile(filepath.Join(Kept(path, hash), name)); err != nil || string(data) != want {
			t.Errorf("%s: %q, %v", name, data, err)
		}
	}
	left, err := filepath.Glob(path + ".sheets/.new-*")
	if err != nil || len(left) > 0 {
		t.Errorf("left: %v, %v", left, err)
	}
}

// TestFormulas writes what a spreadsheet would compute, in the head and in a
// field: the file guards it, and reading returns what was said.
func TestFormulas(t *testing.T) {
	const name = "@wind"
	for said, kept := range map[string]string{
		`=HYPERLINK("http://a.example")`: `'=HYPERLINK("http://a.example")`,
		"+1+1":                           "'+1+1",
		"-2 psi":                         "'-2 psi",
		"@SUM(A1)":                       "'@SUM(A1)",
		"\t=1+1":                         "'=1+1",
		"'=1":                            "''=1",
		"''=1":                           "'''=1",
		"-12.5":                          "-12.5",
		"-12,5":                          "-12,5",
		"+3e-2":                          "+3e-2",
		"'quoted'":                       "'quoted'",
		"head wind":                      "head wind",
	} {
		path := filepath.Join(t.TempDir(), "book.csv")
		if _, err := Add(path, []string{name}, map[string]string{name: said}); err != nil {
			t.Fatal(err)
		}
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		f.Close()
		if err != nil || rows[0][1] != "'"+name || rows[1][1] != kept {
			t.Errorf("%q: the file has %q, want %q (%v)", said, rows, kept, err)
		}
		b := mustRead(t, path)
		if l := b.Lines[0]; l.Problem != "" || l.Fields[1] != strings.TrimSpace(said) || b.Head[1] != name {
			t.Errorf("%q is read as %q below %q (%s)", said, l.Fields, b.Head, l.Problem)
		}
		if a, err := Add(path, []string{name}, map[string]string{name: said}); err != nil || a.Pass != 2 {
			t.Errorf("%q: a second line: %+v, %v", said, a, err)
		}
	}
}
