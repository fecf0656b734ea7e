package disk

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// ErrChanged says that a file has changed since it was read.
var ErrChanged = errors.New("has been changed by another program since it was read; nothing was written")

// Write writes a file at path with write: whole, or not at all. A link is
// followed; mode, owner and links of an existing file are kept, a new one has
// the mode of the umask. A folder, a device, a pipe and a write-protected file
// are refused.
func Write(path string, write func(io.Writer) error) error {
	return put(path, write, func(target) error { return nil })
}

// Check reports in advance whether Write would refuse path.
func Check(path string) error {
	_, err := look(path)
	return err
}

// Replace replaces the content old of the file at path with text. The error is
// ErrChanged if the file no longer contains old.
func Replace(path, old, text string) error {
	write := func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
	return put(path, write, func(t target) error {
		now, err := readAll(t.path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return fmt.Errorf("%s is no longer there; nothing was written", path)
		case err != nil:
			return err
		case !bytes.Equal(now, []byte(old)):
			return fmt.Errorf("%s %w", path, ErrChanged)
		}
		return nil
	})
}

// put writes to a temporary and renames it to path if check allows it, which is
// called while other writers are locked out.
func put(path string, write func(io.Writer) error, check func(target) error) error {
	t, err := look(path)
	if err != nil {
		return err
	}
	folder := filepath.Dir(t.path)
	mode := fs.FileMode(0o666)
	if t.exists() {
		mode = 0o600 // until it is whole
	}
	tmp, err := newTemp(folder, mode)
	if err != nil {
		return err
	}
	defer tmp.discard()
	w := &remembering{w: tmp.f}
	if err := write(w); err != nil {
		return err
	}
	if w.err != nil {
		return w.err
	}
	inPlace := t.exists() && !keepsRights(tmp.f, t.info)
	if err := tmp.f.Sync(); err != nil {
		return err
	}
	if err := tmp.close(); err != nil {
		return err
	}
	return Within(folder, func() error {
		if err := check(t); err != nil {
			return err
		}
		if inPlace {
			return overwrite(t, tmp.path)
		}
		if err := rename(tmp.path, t.path); err != nil {
			return err
		}
		if err := syncFolder(folder); err != nil {
			return fmt.Errorf("%s is written, but may be lost in a power failure: %w", path, err)
		}
		_ = system.Remove(t.path + backupEnding) // of an interrupted write: the file is whole again
		return nil
	})
}

// remembering is a writer that keeps its first error, for callers that do not:
// incomplete content never replaces a file.
type remembering struct {
	w   io.Writer
	err error
}

// Write writes p, unless a write has failed before.
func (r *remembering) Write(p []byte) (n int, err error) {
	if r.err != nil {
		return 0, r.err
	}
	n, r.err = r.w.Write(p)
	return n, r.err
}

// keepsRights gives f the owner and the mode of an existing file, and reports
// whether f can replace it.
func keepsRights(f File, old fs.FileInfo) bool {
	info, err := f.Stat()
	if err != nil {
		return false
	}
	uid, gid, links := owner(old)
	if links > 1 {
		return false
	}
	if ourUID, ourGID, _ := owner(info); ourUID != uid || ourGID != gid {
		if f.Chown(uid, gid) != nil {
			return false
		}
	}
	return f.Chmod(old.Mode().Perm()) == nil
}

// On Windows a file that another program has open cannot be replaced. Scanners
// and backups release it after a moment.
const (
	renameTries = 20
	renamePause = 50 * time.Millisecond
)

func rename(from, to string) error {
	err := system.Rename(from, to)
	for n := 1; err != nil && system.Windows() && errors.Is(err, fs.ErrPermission) && n < renameTries; n++ {
		time.Sleep(renamePause)
		err = system.Rename(from, to)
	}
	if err != nil && system.Windows() && errors.Is(err, fs.ErrPermission) {
		return fmt.Errorf("%s is open in another program: close it there; nothing was written", to)
	}
	return err
}

// ReadFile reads the file at path: an ordinary one of at most so many bytes.
// Anything else, such as a pipe, could block or fill the memory, and is
// refused before it is read.
func ReadFile(path string, most int64) ([]byte, error) {
	f, _, err := Open(path, most)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, most))
}

// Open opens the file at path for reading, unless Admit refuses it.
func Open(path string, most int64) (*os.File, fs.FileInfo, error) {
	info, err := os.Stat(path) // before opening, which could wait for the other end of a pipe
	if err == nil {
		err = Admit(path, info, most)
	}
	if err != nil {
		return nil, nil, err
	}
	f, err := os.Open(path)
	return f, info, err
}

// Admit refuses a file that is not an ordinary one, or is larger than most.
func Admit(path string, info fs.FileInfo, most int64) error {
	switch {
	case info.IsDir():
		return fmt.Errorf("%s is a folder, not a file", path)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is a device or a pipe, not an ordinary file", path)
	case info.Size() > most:
		return fmt.Errorf("%s is larger than %d MiB, the bound for such a file", path, most>>20)
	}
	return nil
}

// readAll reads the file at path.
func readAll(path string) ([]byte, error) {
	f, err := system.OpenFile(path, os.O_RDONLY, 0)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}
