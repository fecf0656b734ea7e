// Package watch reports which files have changed on the disk.
//
// It watches the folders of the files, because editors save by renaming another
// file into place, and also checks every file once a second, because some file
// systems report nothing.
package watch

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"github.com/fsnotify/fsnotify"
)

// The delays between a report and the reaction to it. A saving editor
// truncates, writes and renames in quick succession: settle is the quiet time
// after which a change is reported.
const (
	settle = 30 * time.Millisecond
	look   = time.Second
)

// Watcher watches files.
type Watcher struct {
	changed chan []string
	want    chan []string
	done    sync.WaitGroup
	ctx     context.Context
}

// New returns a Watcher that runs until the context ends.
func New(ctx context.Context) (*Watcher, error) {
	folders, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, err
	}
	w := &Watcher{changed: make(chan []string), want: make(chan []string), ctx: ctx}
	w.done.Go(func() {
		defer folders.Close()
		(&loop{w: w, folders: folders, files: map[string]state{}}).run()
	})
	return w, nil
}

// Nothing returns a Watcher that watches nothing, for systems on which none can
// be created.
func Nothing() *Watcher { return &Watcher{ctx: ended()} }

func ended() context.Context {
	ctx, end := context.WithCancel(context.Background())
	end()
	return ctx
}

// Watch replaces the files that are watched. A file need not exist.
func (w *Watcher) Watch(paths []string) {
	select {
	case w.want <- paths:
	case <-w.ctx.Done():
	}
}

// Changed delivers the files that have changed, those of one save together.
func (w *Watcher) Changed() <-chan []string { return w.changed }

// Wait returns once the Watcher has ended.
func (w *Watcher) Wait() { w.done.Wait() }

// state distinguishes two contents of a file; it is zero if there is no file. A
// link has the state of its target.
type state struct {
	time  time.Time
	size  int64
	file  os.FileInfo
	there bool
}

func stateOf(path string) state {
	info, err := os.Stat(path)
	if err != nil {
		return state{}
	}
	return state{time: info.ModTime(), size: info.Size(), file: info, there: true}
}

func (s state) same(o state) bool {
	return s.there == o.there && s.size == o.size && s.time.Equal(o.time) && (!s.there || os.SameFile(s.file, o.file))
}

// loop is the state of a Watcher's goroutine.
type loop struct {
	w       *Watcher
	folders *fsnotify.Watcher
	files   map[string]state
	moved   []string // that have changed and are not reported yet
}

func (l *loop) run() {
	tick := time.NewTicker(look)
	defer tick.Stop()
	rest := time.NewTimer(time.Hour)
	defer rest.Stop()
	for {
		select {
		case <-l.w.ctx.Done():
			return
		case paths := <-l.w.want:
			l.watch(paths)
			continue
		case _, ok := <-l.folders.Events:
			if !ok {
				return
			}
		case _, ok := <-l.folders.Errors:
			if !ok {
				return
			}
		case <-tick.C:
			l.listen()
		case <-rest.C:
			l.report()
			continue
		}
		if l.see() {
			rest.Reset(settle)
		}
	}
}

// watch replaces the files. New ones are watched from now on.
func (l *loop) watch(paths []string) {
	files := map[string]state{}
	for _, p := range paths {
		old, known := l.files[p]
		if !known {
			old = stateOf(p)
		}
		files[p] = old
	}
	l.files = files
	l.listen()
}

// listen watches the folders of the files and of the targets of links among
// them, as far as they exist.
func (l *loop) listen() {
	want := map[string]bool{}
	for p := range l.files {
		want[filepath.Dir(p)] = true
		if real, err := filepath.EvalSymlinks(p); err == nil {
			want[filepath.Dir(real)] = true
		}
	}
	have := l.folders.WatchList()
	for _, folder := range have {
		if !want[folder] {
			_ = l.folders.Remove(folder) // a folder that no longer exists is not watched
		}
	}
	for folder := range want {
		if !slices.Contains(have, folder) {
			_ = l.folders.Add(folder) // a folder that is missing is tried again every second
		}
	}
}

// see records the files that have changed.
func (l *loop) see() bool {
	found := false
	for p, old := range l.files {
		if now := stateOf(p); !now.same(old) {
			l.files[p] = now
			found = true
			if !slices.Contains(l.moved, p) {
				l.moved = append(l.moved, p)
			}
		}
	}
	return found
}

// report sends the files that have changed.
func (l *loop) report() {
	if len(l.moved) == 0 {
		return
	}
	slices.Sort(l.moved)
	select {
	case l.w.changed <- l.moved:
		l.moved = nil
	case <-l.w.ctx.Done():
	case paths := <-l.w.want:
		// The receiver is replacing the files at this moment.
		l.watch(paths)
		l.report()
	}
}
