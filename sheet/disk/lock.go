package disk

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// patience is how long a writer waits for another one.
const patience = 10 * time.Second

// lockName is the file that is locked where a folder itself cannot be.
const lockName = ".gearleaf.lock"

// Within keeps other writers out of folder while work runs. The folder itself
// is locked; where the system cannot do that, a file in it.
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

// tryLock takes the lock of folder, if nobody has it.
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
