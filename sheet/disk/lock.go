package disk

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// patience is the time that a writer waits for another one.
const patience = 10 * time.Second

// lockName is the file that is locked if the folder itself cannot be.
const lockName = ".gearleaf.lock"

// Within excludes other writers from folder while work runs. It locks the
// folder or, if the system cannot, a file in it.
func Within(folder string, work func() error) error {
	if err := hasFolder(folder); err != nil {
		return err
	}
	for end := time.Now().Add(patience); ; time.Sleep(time.Millisecond) {
		lock, got, err := tryLock(folder)
		if err != nil {
			return err
		}
		if got {
			defer lock.Close()
			return work()
		}
		if time.Now().After(end) {
			return fmt.Errorf("another writer has kept the folder %s for %s; nothing was written", folder, patience)
		}
	}
}

// tryLock takes the lock of folder if it is free.
func tryLock(folder string) (*flock.Flock, bool, error) {
	if !system.Windows() {
		lock := flock.New(folder, flock.SetFlag(os.O_RDONLY))
		if got, err := lock.TryLock(); err == nil {
			return lock, got, nil
		}
		_ = lock.Close()
	}
	lock := flock.New(filepath.Join(folder, lockName))
	got, err := lock.TryLock()
	return lock, got, err
}
