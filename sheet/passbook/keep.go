package passbook

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"gearleaf/sheet/disk"
)

// File is a file that is kept beside a book.
type File struct {
	Path string // slashes between folders
	Data []byte
}

// Kept returns the folder of the files with that hash.
func Kept(path, hash string) string { return filepath.Join(path+".sheets", hash[:16]) }

// Keep keeps a copy of files beside the book, in a folder named by their hash:
// whole, or not at all. An existing folder is left unchanged.
func Keep(path, hash string, files []File) error {
	folder := Kept(path, hash)
	if err := os.MkdirAll(filepath.Dir(folder), 0o777); err != nil {
		return err
	}
	entries := make([]disk.Entry, len(files))
	for i, f := range files {
		entries[i] = disk.Entry{Name: f.Path, Data: f.Data}
		if name := filepath.FromSlash(f.Path); !filepath.IsLocal(name) {
			entries[i].Name = filepath.Base(name)
		}
	}
	err := disk.WriteFolder(folder, entries)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	return err
}
