package watch_test

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"gearleaf/sheet/watch"
)

// TestEverySaveIsSeen saves a file in the ways that editors do, and removes it and
// writes it again.
func TestEverySaveIsSeen(t *testing.T) {
	dir := t.TempDir()
	real := filepath.Join(dir, "real")
	if err := os.Mkdir(real, 0o755); err != nil {
		t.Fatal(err)
	}
	file, linked, late := filepath.Join(dir, "a.leaf"), filepath.Join(dir, "link.leaf"), filepath.Join(dir, "later", "c.csv")
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	write := func(path, text string) { t.Helper(); must(os.WriteFile(path, []byte(text), 0o644)) }
	write(file, "a : 1\n")
	write(filepath.Join(real, "b.leaf"), "b : 1\n")
	links := os.Symlink(filepath.Join(real, "b.leaf"), linked) == nil

	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	w, err := watch.New(ctx)
	must(err)
	w.Watch([]string{file, linked, late})
	expect := func(what, path string) {
		t.Helper()
		select {
		case got := <-w.Changed():
			if !slices.Contains(got, path) {
				t.Errorf("%s: %v is reported", what, got)
			}
		case <-time.After(10 * time.Second):
			t.Fatalf("%s is not seen", what)
		}
	}
	write(file, "a : 22\n")
	expect("a file that is truncated and written", file)
	write(file+"~", "a : 333\n")
	must(os.Rename(file+"~", file))
	expect("a file that is renamed into place", file)
	must(os.Remove(file))
	expect("a file that is removed", file)
	write(file, "a : 4444\n")
	expect("a file that is created again", file)
	if links {
		write(filepath.Join(real, "b.leaf"), "b : 22\n")
		expect("what a link leads to", linked)
	}
	must(os.Mkdir(filepath.Dir(late), 0o755))
	write(late, "x\n1\n")
	expect("a file in a folder that was missing", late)
	must(os.Chtimes(late, time.Now(), time.Now().Add(-time.Hour)))
	expect("a file with another time", late)
	write(filepath.Join(dir, "other"), "not watched")
	select {
	case got := <-w.Changed():
		t.Errorf("%v is reported for a file that is not watched", got)
	case <-time.After(200 * time.Millisecond):
	}
}

// TestWatcherEnds: with its context a Watcher ends, and leaves no goroutine.
func TestWatcherEnds(t *testing.T) {
	before := runtime.NumGoroutine()
	ctx, stop := context.WithCancel(t.Context())
	w, err := watch.New(ctx)
	if err != nil {
		t.Fatal(err)
	}
	w.Watch([]string{filepath.Join(t.TempDir(), "a")})
	stop()
	w.Wait()
	w.Watch([]string{"b"}) // nobody listens, and nobody waits
	for end := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > before; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%d goroutines before, %d after", before, runtime.NumGoroutine())
		}
	}
}
