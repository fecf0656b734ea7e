package disk

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
)

// Entry is a file of a folder that is written.
type Entry struct {
	Name string // slashes between folders
	Data []byte
}

// WriteFolder writes a new folder with entries: whole, or not at all. The error
// is fs.ErrExist if the path exists.
func WriteFolder(path string, entries []Entry) error {
	if _, err := system.Lstat(path); err == nil {
		return &fs.PathError{Op: "mkdir", Path: path, Err: fs.ErrExist}
	}
	above := filepath.Dir(filepath.Clean(path))
	tmp, err := newTempFolder(above)
	if err != nil {
		return err
	}
	defer tmp.discard()
	made := map[string]bool{}
	for _, e := range entries {
		if err := tmp.entry(e, made); err != nil {
			return err
		}
	}
	for folder := range made {
		if err := syncFolder(folder); err != nil {
			return err
		}
	}
	return Within(above, func() error {
		if _, err := system.Lstat(path); err == nil {
			return &fs.PathError{Op: "mkdir", Path: path, Err: fs.ErrExist}
		}
		if err := rename(tmp.path, path); err != nil {
			return err
		}
		if err := syncFolder(above); err != nil {
			return fmt.Errorf("%s is written, but may be lost in a power failure: %w", path, err)
		}
		return nil
	})
}

// entry writes one file below the temporary folder.
func (t *temp) entry(e Entry, made map[string]bool) error {
	name := filepath.FromSlash(e.Name)
	if !filepath.IsLocal(name) || system.Windows() && isDevice(filepath.Base(name)) {
		return fmt.Errorf("%q is not the name of a file in a folder", e.Name)
	}
	folder := t.path
	made[folder] = true
	for part := range strings.SplitSeq(filepath.Dir(name), string(filepath.Separator)) {
		if folder = filepath.Join(folder, part); !made[folder] {
			made[folder] = true
			if err := system.Mkdir(folder, 0o777); err != nil {
				return err
			}
		}
	}
	return writeNew(filepath.Join(t.path, name), e.Data, 0o666)
}
