package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"gearleaf/sheet/outside"
)

// faulty is the operating system with one operation that fails: the one that
// is counted to at. A write that fails has written half.
type faulty struct {
	System
	at, count int
	err       error
	failed    string // the operation that failed
}

func (s *faulty) fails(op string) error {
	if s.count++; s.count != s.at {
		return nil
	}
	s.failed = op
	return s.err
}

func (s *faulty) OpenFile(name string, flag int, mode fs.FileMode) (File, error) {
	if err := s.fails("open"); err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	f, err := s.System.OpenFile(name, flag, mode)
	if err != nil {
		return nil, err
	}
	return &faultyFile{f, s}, nil
}

func (s *faulty) Rename(from, to string) error {
	if err := s.fails("rename"); err != nil {
		return err
	}
	return s.System.Rename(from, to)
}

func (s *faulty) Remove(name string) error {
	if err := s.fails("remove"); err != nil {
		return err
	}
	return s.System.Remove(name)
}

func (s *faulty) Mkdir(name string, mode fs.FileMode) error {
	if err := s.fails("mkdir"); err != nil {
		return err
	}
	return s.System.Mkdir(name, mode)
}

func (s *faulty) Lstat(name string) (fs.FileInfo, error) {
	if err := s.fails("lstat"); err != nil {
		return nil, err
	}
	return s.System.Lstat(name)
}

type faultyFile struct {
	File
	s *faulty
}

func (f *faultyFile) Write(p []byte) (int, error) {
	if err := f.s.fails("write"); err != nil {
		n, _ := f.File.Write(p[:len(p)/2])
		return n, err
	}
	return f.File.Write(p)
}

func (f *faultyFile) Read(p []byte) (int, error) {
	if err := f.s.fails("read"); err != nil {
		return 0, err
	}
	return f.File.Read(p)
}

func (f *faultyFile) Sync() error {
	if err := f.s.fails("sync"); err != nil {
		return err
	}
	return f.File.Sync()
}

func (f *faultyFile) Truncate(size int64) error {
	if err := f.s.fails("truncate"); err != nil {
		return err
	}
	return f.File.Truncate(size)
}

func (f *faultyFile) Chmod(mode fs.FileMode) error {
	if err := f.s.fails("chmod"); err != nil {
		return err
	}
	return f.File.Chmod(mode)
}

func (f *faultyFile) Close() error {
	err := f.s.fails("close")
	return errors.Join(err, f.File.Close())
}

const before, after = "the text from before, of some length\n", "the text from now\n"

// deeds are the ways of writing, each with what it begins from: the old file
// is absent, there, or has a second link.
var deeds = []struct {
	name      string
	old, link bool
	do        func(path string) error
}{
	{"write a new file", false, false, func(path string) error { return Write(path, put2) }},
	{"write over a file", true, false, func(path string) error { return Write(path, put2) }},
	{"write over a file with two links", true, true, func(path string) error { return Write(path, put2) }},
	{"write by one who looks at no error", true, false, func(path string) error { return Write(path, careless) }},
	{"replace", true, false, func(path string) error { return Replace(path, before, after) }},
	{"replace with two links", true, true, func(path string) error { return Replace(path, before, after) }},
	{"append to a new file", false, false, add},
	{"append", true, false, add},
	{"write a folder", false, false, func(path string) error {
		return WriteFolder(path, []Entry{{"a.txt", []byte(after)}, {"in/b.txt", []byte(after)}})
	}},
}

func put2(w io.Writer) error {
	if _, err := io.WriteString(w, after[:5]); err != nil {
		return err
	}
	_, err := io.WriteString(w, after[5:])
	return err
}

// careless writes as a library may that drops the errors of its writer.
func careless(w io.Writer) error {
	_ = put2(w)
	_, _ = io.WriteString(w, "")
	return nil
}

func add(path string) error {
	return Append(path, 1<<20, func([]byte) ([]byte, error) { return []byte(after), nil })
}

// TestEveryOperationFails makes each operation of each way of writing fail, in
// several ways: afterwards the file has the old or the new content, as the
// error says, and the next write cleans up.
func TestEveryOperationFails(t *testing.T) {
	for _, deed := range deeds {
		for _, errno := range []error{syscall.ENOSPC, syscall.EIO, syscall.EACCES, syscall.EXDEV, syscall.EINTR} {
			t.Run(deed.name+"/"+errno.Error(), func(t *testing.T) {
				points := 0
				for at := 1; ; at++ {
					s := &faulty{System: OS(), at: at, err: errno}
					if !oneFault(t, s, deed.old, deed.link, deed.do) {
						break
					}
					points++
				}
				if points < 5 {
					t.Errorf("only %d operations could fail", points)
				}
			})
		}
	}
}

// oneFault runs do under s and checks what is left. It reports whether an
// operation failed.
func oneFault(t *testing.T, s *faulty, old, link bool, do func(string) error) bool {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bike.leaf")
	if old {
		mustWrite(t, path, before)
	}
	if link {
		if err := os.Link(path, path+".too"); err != nil {
			outside.Missing(t, "no links here")
		}
	}
	restore := SetSystem(s)
	err := do(path)
	restore()
	what := fmt.Sprintf("operation %d, %s", s.at, s.failed)
	now := content(path)
	wasNew := now == after || now == before+after && old || now == "folder"
	wasOld := old && now == before || !old && now == ""
	switch {
	case err == nil && !wasNew:
		t.Errorf("%s: no error, and the file holds %q", what, now)
	case err != nil && !wasOld && !wasNew:
		if backup, text, ok := CutOff(path); !ok || string(text) != before {
			t.Errorf("%s: neither old nor new: %q (%v; %s)", what, now, err, backup)
		}
	case err != nil && wasNew && s.failed != "remove" && !strings.Contains(err.Error(), "is written") && !strings.Contains(err.Error(), "is there"):
		t.Errorf("%s: the new is there, and the error does not say so: %v", what, err)
	}
	if link && content(path+".too") != now {
		t.Errorf("%s: the links part", what)
	}
	mustWriteBy(t, filepath.Join(filepath.Dir(path), "other"))
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), tempPattern)); len(left) > 0 {
		t.Errorf("%s: left: %v", what, left)
	}
	return s.failed != ""
}

// content is what is at path; empty for nothing, "folder" for the folder whole.
func content(path string) string {
	data, err := os.ReadFile(path)
	if err == nil {
		return string(data)
	}
	a, errA := os.ReadFile(filepath.Join(path, "a.txt"))
	b, errB := os.ReadFile(filepath.Join(path, "in", "b.txt"))
	if _, err := os.Stat(path); err == nil && (errA != nil || errB != nil || string(a) != after || string(b) != after) {
		return "part of a folder"
	}
	if errA == nil {
		return "folder"
	}
	return ""
}

func mustWrite(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func mustWriteBy(t *testing.T, path string) {
	t.Helper()
	if err := Write(path, put2); err != nil {
		t.Fatal(err)
	}
}

// TestTwoFaults: an operation fails, and what would undo it fails as well. The
// old text is in the file or in its backup.
func TestTwoFaults(t *testing.T) {
	for at := 1; at < 60; at++ {
		path := filepath.Join(t.TempDir(), "bike.leaf")
		mustWrite(t, path, before)
		if err := os.Link(path, path+".too"); err != nil {
			outside.Missing(t, "no links here")
		}
		s := &fromThenOn{faulty{System: OS(), at: at, err: syscall.EIO}}
		restore := SetSystem(s)
		err := Replace(path, before, after)
		restore()
		now := content(path)
		if now == before || now == after {
			continue
		}
		if _, old, ok := CutOff(path); err == nil || !ok || string(old) != before {
			t.Errorf("from operation %d on: %q, %v", at, now, err)
		}
		if err := Write(path, put2); err == nil || !strings.Contains(err.Error(), "partly written") {
			t.Errorf("the next write does not say so: %v", err)
		}
		if err := Replace(path, now, before); err != nil {
			t.Errorf("the old text cannot be put back: %v", err)
		}
		if _, _, ok := CutOff(path); ok || content(path) != before {
			t.Error("it is still cut off")
		}
	}
}

// fromThenOn fails from an operation on, except that files can still be read.
type fromThenOn struct{ faulty }

func (s *fromThenOn) OpenFile(name string, flag int, mode fs.FileMode) (File, error) {
	f, err := s.System.OpenFile(name, flag, mode)
	if err != nil {
		return nil, err
	}
	return &dyingFile{faultyFile{f, &s.faulty}}, nil
}

type dyingFile struct{ faultyFile }

func (f *dyingFile) Write(p []byte) (int, error) {
	if f.s.count++; f.s.count < f.s.at {
		return f.File.Write(p)
	}
	n, _ := f.File.Write(p[:len(p)/2])
	return n, f.s.err
}

// windows is a system by whose rules an open file cannot be replaced: the
// first so many renames are refused.
type windows struct {
	System
	refusals int
}

func (windows) Windows() bool { return true }

func (s *windows) Rename(from, to string) error {
	if s.refusals--; s.refusals >= 0 {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: fs.ErrPermission}
	}
	return s.System.Rename(from, to)
}

func TestWindowsRules(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bike.xlsx")
	mustWrite(t, path, before)
	defer SetSystem(&windows{OS(), 3})()
	if err := Write(path, put2); err != nil || content(path) != after {
		t.Errorf("a file that is let go of after a moment: %v", err)
	}
	mustWrite(t, path, before)
	SetSystem(&windows{OS(), 1000})
	if err := Write(path, put2); err == nil || !strings.Contains(err.Error(), "open in another program") || content(path) != before {
		t.Errorf("a file that stays open: %v", err)
	}
	for _, name := range []string{"nul", "CON.xlsx", "com1.leaf", "Lpt9", "aux .csv"} {
		if err := Check(filepath.Join(t.TempDir(), name)); err == nil || !strings.Contains(err.Error(), "device") {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, name := range []string{"console.leaf", "com.leaf", "com10.csv", "null", "auxiliary"} {
		if err := Check(filepath.Join(t.TempDir(), name)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestLongNames writes files whose names, and whose paths, are as long as file
// systems admit: the temporary beside a file has room for its name as well.
func TestLongNames(t *testing.T) {
	deep := t.TempDir()
	for len(deep) < 500 { // Windows without long paths admits 260, macOS 1024
		deep = filepath.Join(deep, strings.Repeat("d", 200))
	}
	if err := os.MkdirAll(deep, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{
		filepath.Join(t.TempDir(), strings.Repeat("x", 250)+".leaf"),
		filepath.Join(deep, strings.Repeat("x", 250)+".leaf"),
	} {
		for range 2 { // a new file, and one that is there
			if err := Write(path, put2); err != nil {
				t.Errorf("a path of %d bytes: %v", len(path), err)
			}
		}
		if content(path) != after {
			t.Errorf("a path of %d bytes holds %q", len(path), content(path))
		}
	}
}
