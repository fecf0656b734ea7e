package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteWhole writes a file at path by way of write: whole, or not at all. The
// bytes go to a new file beside it, which takes its name only once everything
// is on the disk. A link at path is followed, the mode of an existing file is
// kept, a write-protected one is refused.
//
// It is our own because the kept library for this (renameio) does not write
// on Windows.
func WriteWhole(path string, write func(io.Writer) error) (err error) {
	target, mode, err := destination(path)
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(target), ".gearleaf-*.tmp")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := errors.Join(f.Chmod(mode), f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), target)
}

// destination follows a link at path and returns the mode to give the file.
func destination(path string) (string, fs.FileMode, error) {
	target, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		return path, 0o644, nil
	}
	if err != nil {
		return "", 0, err
	}
	info, err := os.Stat(target)
	switch {
	case err != nil:
		return "", 0, err
	case info.IsDir():
		return "", 0, fmt.Errorf("%s is a folder", path)
	case info.Mode().Perm()&0o222 == 0:
		return "", 0, fmt.Errorf("%s is write-protected; nothing was written", path)
	}
	return target, info.Mode().Perm(), nil
}

// Replace puts text in the place of old in the file at path, whole or not at
// all. It refuses when the file no longer holds old.
func Replace(path, old, text string) error {
	now, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if !bytes.Equal(now, []byte(old)) {
		return fmt.Errorf("%s has been changed by another program since it was read; nothing was written", path)
	}
	return WriteWhole(path, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}
