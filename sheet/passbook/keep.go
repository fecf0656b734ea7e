package passbook

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// File is a file that is kept beside a book.
type File struct {
	Path string // slashes between folders
	Data []byte
}

// Kept returns the folder in which the files of that hash are kept.
func Kept(path, hash string) string { return filepath.Join(path+".sheets", hash[:16]) }

// Keep keeps a copy of files beside the book, in a folder named by their hash:
// whole, or not at all. What is there already is left as it is.
func Keep(path, hash string, files []File) (err error) {
	folder := Kept(path, hash)
	if _, err := os.Stat(folder); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(folder), 0o755); err != nil {
		return err
	}
	work, err := os.MkdirTemp(filepath.Dir(folder), ".new-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	for _, f := range files {
		name := filepath.FromSlash(f.Path)
		if !filepath.IsLocal(name) {
			name = filepath.Base(name)
		}
		if err := writeSynced(filepath.Join(work, name), f.Data); err != nil {
			return err
		}
	}
	if err := os.Chmod(work, 0o755); err != nil {
		return err
	}
	err = os.Rename(work, folder)
	if _, there := os.Stat(folder); err != nil && there == nil {
		return nil // another writer was first
	}
	return err
}

func writeSynced(path string, data []byte) (err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err := f.Write(data); err != nil {
		return err
	}
	return f.Sync()
}
