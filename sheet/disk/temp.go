package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/gofrs/flock"
)

// tempPattern matches the temporaries of this package.
const tempPattern = ".gearleaf-*.tmp"

// temp is a temporary: a file, or a folder with f nil.
type temp struct {
	path string
	f    File
	lock *flock.Flock // shows other writers that we are alive
}

// newTemp makes a temporary in folder, and removes those that a kill has left.
// A temporary is locked while its process lives.
func newTemp(folder string, mode fs.FileMode) (*temp, error) {
	return makeTemp(folder, func(t *temp) (err error) {
		t.f, err = system.OpenFile(t.path, os.O_RDWR|os.O_CREATE|os.O_EXCL, mode)
		return err
	})
}

// newTempFolder makes a temporary folder in folder.
func newTempFolder(folder string) (*temp, error) {
	return makeTemp(folder, func(t *temp) error { return system.Mkdir(t.path, 0o777) })
}

func makeTemp(folder string, create func(*temp) error) (*temp, error) {
	t := &temp{path: tempName(folder)}
	err := Within(folder, func() error {
		sweep(folder)
		if err := begin(t.path, func() error { return create(t) }); err != nil {
			return err
		}
		t.hold()
		return nil
	})
	if err != nil {
		t.discard()
		return nil, err
	}
	return t, nil
}

func tempName(folder string) string {
	return filepath.Join(folder, fmt.Sprintf(".gearleaf-%d-%08x.tmp", os.Getpid(), rand.Uint32()))
}

// hold locks the temporary. On Windows an open file cannot be removed, which
// is sufficient.
func (t *temp) hold() {
	if system.Windows() {
		return
	}
	t.lock = flock.New(t.path, flock.SetFlag(os.O_RDONLY))
	_, _ = t.lock.TryLock() // without file locks, none is considered dead
}

// sweep removes the temporaries of dead writers. Those that cannot be removed
// are left for the next sweep.
func sweep(folder string) {
	old, _ := filepath.Glob(filepath.Join(escaped(folder), tempPattern))
	for _, path := range old {
		if !system.Windows() {
			lock := flock.New(path, flock.SetFlag(os.O_RDONLY))
			got, err := lock.TryLock()
			_ = lock.Close()
			if err != nil || !got {
				continue
			}
		}
		_ = os.RemoveAll(path)
	}
}

// escaped quotes a folder's name for a pattern.
func escaped(folder string) string {
	if system.Windows() {
		return folder // if \ separates folders, nothing can be escaped
	}
	var out []rune
	for _, r := range folder {
		switch r {
		case '*', '?', '[', '\\':
			out = append(out, '\\')
		}
		out = append(out, r)
	}
	return string(out)
}

// close ends writing; the temporary stays.
func (t *temp) close() error {
	if t.f == nil {
		return nil
	}
	err := t.f.Close()
	t.f = nil
	return err
}

// discard removes the temporary, if it still has its own name.
func (t *temp) discard() {
	_ = t.close()
	if t.lock != nil {
		_ = t.lock.Close()
	}
	_ = os.RemoveAll(t.path)
	end(t.path)
}

// live holds the temporaries of this process, which a signal must not leave on
// the disk. Work that a signal must not interrupt holds the lock, too.
var live struct {
	sync.Mutex
	paths  map[string]bool
	caught chan os.Signal
	// orderly counts the callers of Orderly that have not released it, and
	// overdue ends the process if they do not after a signal.
	orderly int
	overdue *time.Timer
}

// grace is the time that callers of Orderly may take to end after a signal.
const grace = 5 * time.Second

// Signals are those that end a program, without ignored ones, as under nohup.
func Signals() []os.Signal {
	var out []os.Signal
	for _, s := range []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP} {
		if !signal.Ignored(s) {
			out = append(out, s)
		}
	}
	return out
}

// Orderly says that the caller catches Signals and ends its work itself: until
// release, a signal does not end the process. If the work takes longer than
// grace to end, or a second signal arrives, the process ends nevertheless,
// without its temporaries.
func Orderly() (release func()) {
	live.Lock()
	defer live.Unlock()
	live.orderly++
	catch()
	return func() {
		live.Lock()
		defer live.Unlock()
		if live.orderly--; live.orderly == 0 && live.overdue != nil {
			live.overdue.Stop()
			live.overdue = nil
		}
		uncatch()
	}
}

// begin creates a temporary and adds its path to those of this process. From
// the first one on, signals are caught; an ignored one, as under nohup, stays
// ignored. A signal takes effect before the creation or after it.
func begin(path string, create func() error) error {
	live.Lock()
	defer live.Unlock()
	if live.paths == nil {
		live.paths = map[string]bool{}
	}
	live.paths[path] = true
	catch()
	return create()
}

// catch catches signals, if they are not caught already.
func catch() {
	if live.caught != nil {
		return
	}
	live.caught = make(chan os.Signal, 1)
	if signals := Signals(); len(signals) > 0 { // without arguments, Notify would catch all
		signal.Notify(live.caught, signals...)
	}
	go clean(live.caught)
}

// end removes path from the temporaries.
func end(path string) {
	live.Lock()
	defer live.Unlock()
	delete(live.paths, path)
	uncatch()
}

// uncatch restores the former effect of signals, after the last temporary and
// the last caller of Orderly.
func uncatch() {
	if len(live.paths) == 0 && live.orderly == 0 && live.caught != nil {
		signal.Stop(live.caught)
		close(live.caught)
		live.caught = nil
	}
}

// clean waits for a signal, removes the temporaries, and ends the process by
// the same signal; callers of Orderly have grace to end it themselves.
func clean(caught chan os.Signal) {
	for sig := range caught {
		live.Lock()
		if live.orderly == 0 || live.overdue != nil {
			finish(sig) // and keep the lock: no more writes
			return
		}
		live.overdue = time.AfterFunc(grace, func() {
			live.Lock()
			if live.overdue == nil { // released while it waited for the lock
				live.Unlock()
				return
			}
			finish(sig)
		})
		live.Unlock()
	}
}

func finish(sig os.Signal) {
	for path := range live.paths {
		_ = os.RemoveAll(path)
	}
	signal.Reset(sig)
	if number, ok := sig.(syscall.Signal); ok {
		raise(number)
	}
}

// syncFolder syncs the names in folder to the disk, if the system can.
func syncFolder(folder string) error {
	if system.Windows() {
		return nil
	}
	d, err := system.OpenFile(folder, os.O_RDONLY, 0)
	if err != nil {
		return nil // a folder that is writable but not readable
	}
	err = d.Sync()
	_ = d.Close()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		return nil
	}
	return err
}
