package disk

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Append calls more with the content of the file at path, writes the result to
// its end, and syncs it to the disk. A file that does not exist is created.
// After a failure the file is unchanged, or the error says that it is not. A
// file larger than most is refused. Concurrent writers must call it inside
// Within.
func Append(path string, most int64, more func(old []byte) ([]byte, error)) error {
	t, err := look(path)
	if err != nil {
		return err
	}
	if t.exists() {
		if err := Admit(path, t.info, most); err != nil {
			return err
		}
	}
	f, err := system.OpenFile(t.path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666)
	if err != nil {
		return err
	}
	err = appendTo(f, more)
	_ = f.Close() // the content is on the disk already
	if t.exists() {
		return err
	}
	if err != nil {
		_ = system.Remove(t.path)
		return err
	}
	if err := syncFolder(filepath.Dir(t.path)); err != nil {
		return fmt.Errorf("%s is written, but may be lost in a power failure: %w", path, err)
	}
	return nil
}

func appendTo(f File, more func(old []byte) ([]byte, error)) error {
	old, err := io.ReadAll(f)
	if err != nil {
		return err
	}
	text, err := more(old)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		return nil
	}
	if undo := f.Truncate(int64(len(old))); undo != nil {
		return fmt.Errorf("the line is written, but may be lost in a power failure, and could not be removed: %w", errors.Join(err, undo))
	}
	_ = f.Sync()
	return fmt.Errorf("nothing was written: %w", err)
}
