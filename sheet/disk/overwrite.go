package disk

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// backupEnding is appended to the name of a file for its backup, which exists
// while the file is written in place.
const backupEnding = ".gearleaf-backup"

// CutOff returns the backup of the file at path, with its content, if a kill
// has interrupted a write in place. ok is false if there is none, or the file
// is unchanged.
func CutOff(path string) (backup string, old []byte, ok bool) {
	real, _, err := follow(path)
	if err != nil {
		return "", nil, false
	}
	backup = real + backupEnding
	old, err = readAll(backup)
	if err != nil {
		return "", nil, false
	}
	now, err := readAll(real)
	return backup, old, err != nil || !bytes.Equal(now, old)
}

// overwrite writes the content of from into the file of t, which stays the same
// file. It syncs a backup first, so a kill loses nothing.
func overwrite(t target, from string) error {
	text, err := readAll(from)
	if err != nil {
		return err
	}
	old, err := readAll(t.path)
	if err != nil {
		return err
	}
	backup := t.path + backupEnding
	if err := keepBackup(t, backup, old, text); err != nil {
		return err
	}
	live.Lock() // a signal waits until this is complete
	defer live.Unlock()
	if err := writeOver(t.path, text); err != nil {
		if again := writeOver(t.path, old); again != nil {
			return fmt.Errorf("%s was only partly written, its old text is complete in %s: %w", t.asked, backup, err)
		}
		_ = system.Remove(backup)
		return err
	}
	return system.Remove(backup)
}

// keepBackup writes old to the backup, whole before it has its name. An
// existing backup belongs to an interrupted write and is kept; but text may be
// that backup's own content, to be restored.
func keepBackup(t target, backup string, old, text []byte) error {
	there, err := readAll(backup)
	switch {
	case err == nil && (bytes.Equal(there, old) || bytes.Equal(there, text)):
		return nil
	case err == nil:
		return Refused{t.asked, fmt.Sprintf("was only partly written, and its earlier text is in %s: restore that, or remove it", backup)}
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	folder := filepath.Dir(t.path)
	path := tempName(folder)
	err = begin(path, func() error { return writeNew(path, old, t.info.Mode().Perm()) })
	defer end(path)
	if err == nil {
		err = system.Rename(path, backup)
	}
	if err == nil {
		err = syncFolder(folder)
	}
	if err != nil {
		_ = system.Remove(path)
		_ = system.Remove(backup)
	}
	return err
}

// writeNew writes a new file and syncs it to the disk.
func writeNew(path string, text []byte, mode fs.FileMode) error {
	f, err := system.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	_ = f.Close() // the content is on the disk already
	return err
}

// writeOver writes text into the existing file at path.
func writeOver(path string, text []byte) error {
	f, err := system.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	n, err := f.Write(text)
	if err == nil && n < len(text) {
		err = io.ErrShortWrite
	}
	if err == nil {
		err = f.Truncate(int64(len(text)))
	}
	if err == nil {
		err = f.Sync()
	}
	_ = f.Close() // the content is on the disk already
	return err
}
