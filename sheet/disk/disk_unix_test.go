//go:build unix

package disk

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"gearleaf/sheet/outside"
)

// TestMain lets this binary be a writer that is killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("DISK_WRITER"); path != "" {
		writer(path)
	}
	if path := os.Getenv("DISK_DEAF"); path != "" {
		deaf(path)
	}
	os.Exit(m.Run())
}

// deaf promises to end its work after a signal, and does not.
func deaf(path string) {
	Orderly()
	_ = Write(path, func(w io.Writer) error {
		_, _ = w.Write([]byte("half"))
		fmt.Println("begun")
		select {}
	})
}

// writer writes a file over and over, a letter after the other.
func writer(path string) {
	for i := 0; ; i++ {
		if err := Write(path, func(w io.Writer) error {
			text := strings.Repeat(string(rune('a'+i%26)), 100_000)
			for len(text) > 0 {
				n := min(len(text), 10_000)
				if _, err := w.Write([]byte(text[:n])); err != nil {
					return err
				}
				text = text[n:]
			}
			if i == 0 {
				fmt.Println("begun")
			}
			return nil
		}); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
	}
}

func TestKeepsModeOwnerAndUmask(t *testing.T) {
	old := syscall.Umask(0o027)
	defer syscall.Umask(old)
	folder := t.TempDir()
	fresh := filepath.Join(folder, "fresh")
	mustWriteBy(t, fresh)
	if mode := modeOf(t, fresh); mode != 0o640 {
		t.Errorf("a new file has the mode %o", mode)
	}
	mustWrite(t, fresh, before)
	if err := os.Chmod(fresh, 0o666); err != nil {
		t.Fatal(err)
	}
	mustWriteBy(t, fresh)
	if mode := modeOf(t, fresh); mode != 0o666 || content(fresh) != after {
		t.Errorf("the old mode 666 is now %o", mode)
	}
	if os.Geteuid() != 0 {
		return
	}
	if err := os.Chown(fresh, 1234, 2345); err != nil {
		t.Fatal(err)
	}
	mustWriteBy(t, fresh)
	info, err := os.Stat(fresh)
	if err != nil {
		t.Fatal(err)
	}
	if uid, gid, _ := owner(info); uid != 1234 || gid != 2345 {
		t.Errorf("its owner is now %d:%d", uid, gid)
	}
}

func modeOf(t *testing.T, path string) os.FileMode {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return info.Mode().Perm()
}

func TestLinksStay(t *testing.T) {
	folder := t.TempDir()
	path, second, soft, dangling := filepath.Join(folder, "a"), filepath.Join(folder, "b"), filepath.Join(folder, "c"), filepath.Join(folder, "d")
	mustWrite(t, path, before)
	if err := os.Link(path, second); err != nil {
		outside.Missing(t, "no links here")
	}
	for from, to := range map[string]string{soft: "b", dangling: "e"} {
		if err := os.Symlink(to, from); err != nil {
			t.Fatal(err)
		}
		mustWriteBy(t, from)
		if info, err := os.Lstat(from); err != nil || info.Mode()&os.ModeSymlink == 0 {
			t.Errorf("%s is no link any more", from)
		}
	}
	if content(path) != after || content(second) != after || content(filepath.Join(folder, "e")) != after {
		t.Error("what the links lead to was not written")
	}
	if names, _ := os.ReadDir(folder); len(names) != 5 {
		t.Errorf("left: %v", names)
	}
}

func TestRefuses(t *testing.T) {
	folder := t.TempDir()
	pipe, locked := filepath.Join(folder, "pipe"), filepath.Join(folder, "locked")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	mustWrite(t, locked, before)
	if err := os.Chmod(locked, 0o444); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{pipe: "pipe", locked: "write-protected", folder: "folder", "/dev/null": "device"} {
		if err := Write(path, put2); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", path, err)
		}
	}
	for path, want := range map[string]string{pipe: "pipe", folder: "folder", "/dev/zero": "device"} {
		if _, err := ReadFile(path, 100); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", path, err)
		}
	}
	giant := filepath.Join(folder, "giant")
	mustWrite(t, giant, "")
	if err := os.Truncate(giant, 1<<40); err != nil {
		outside.Missing(t, "no sparse files here")
	}
	if _, err := ReadFile(giant, 64<<20); err == nil || !strings.Contains(err.Error(), "64 MiB") {
		t.Errorf("a sparse giant: %v", err)
	}
}

// begun starts this binary as setting says, and waits until it has begun to write.
func begun(t *testing.T, setting string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), setting)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	_, _ = out.Read(make([]byte, 10))
	return cmd
}

// TestSignals: a signal leaves no temporary and ends the process as it would
// have; a kill leaves the old or the new, and the next write cleans up.
func TestSignals(t *testing.T) {
	// Where the tests ignore HUP or INT, as a job in the background does, the
	// writers would too, unless the signals are caught here.
	caught := make(chan os.Signal, 1)
	signal.Notify(caught, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT)
	defer signal.Stop(caught)
	for _, sig := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT, syscall.SIGKILL} {
		for links := range 2 {
			for round := range 8 {
				folder := t.TempDir()
				path := filepath.Join(folder, "file")
				mustWrite(t, path, strings.Repeat("z", 50_000))
				if links == 1 {
					if err := os.Link(path, path+".too"); err != nil {
						outside.Missing(t, "no links here")
					}
				}
				cmd := begun(t, "DISK_WRITER="+path)
				time.Sleep(time.Duration(round*700) * time.Microsecond)
				_ = cmd.Process.Signal(sig)
				_ = cmd.Wait()
				if state := cmd.ProcessState.Sys().(syscall.WaitStatus); !state.Signaled() || state.Signal() != sig {
					t.Fatalf("%v: it ended by %v", sig, cmd.ProcessState)
				}
				checkLeft(t, path, sig != syscall.SIGKILL)
			}
		}
	}
}

// TestGrace: work that does not end after a signal is ended by a second one
// at once, without one after a while, and leaves nothing.
func TestGrace(t *testing.T) {
	for signals := 1; signals <= 2; signals++ {
		path := filepath.Join(t.TempDir(), "file")
		mustWrite(t, path, "old")
		cmd := begun(t, "DISK_DEAF="+path)
		start := time.Now()
		for range signals {
			_ = cmd.Process.Signal(syscall.SIGTERM)
			time.Sleep(200 * time.Millisecond)
		}
		_ = cmd.Wait()
		took := time.Since(start)
		if state := cmd.ProcessState.Sys().(syscall.WaitStatus); !state.Signaled() || state.Signal() != syscall.SIGTERM {
			t.Errorf("%d signals: it ended by %v", signals, cmd.ProcessState)
		}
		if early := took < grace; early != (signals == 2) {
			t.Errorf("%d signals: it ended after %v", signals, took)
		}
		if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), tempPattern)); len(left) > 0 || content(path) != "old" {
			t.Errorf("%d signals: left %v, %q", signals, left, content(path))
		}
	}
}

func checkLeft(t *testing.T, path string, clean bool) {
	t.Helper()
	text := content(path)
	if n := len(text); n != 100_000 && n != 50_000 || strings.Trim(text, text[:1]) != "" {
		if _, old, ok := CutOff(path); !ok || strings.Trim(string(old), string(old[:1])) != "" {
			t.Fatalf("neither old nor new: %d bytes", n)
		}
		if clean {
			t.Fatal("a signal cut a write in two")
		}
		return
	}
	left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), tempPattern))
	if clean && len(left) > 0 {
		t.Fatalf("left: %v", left)
	}
	mustWriteBy(t, filepath.Join(filepath.Dir(path), "other"))
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), tempPattern)); len(left) > 0 {
		t.Fatalf("the next write leaves %v", left)
	}
}

// TestManyReplace: of writers at the same time each one's change is kept.
func TestManyReplace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	mustWrite(t, path, "")
	const writers, each = 8, 25
	var wait sync.WaitGroup
	for w := range writers {
		wait.Go(func() {
			for done := 0; done < each; {
				old, err := os.ReadFile(path)
				if err != nil {
					t.Error(err)
					return
				}
				if Replace(path, string(old), string(old)+string(rune('a'+w))) == nil {
					done++
				}
			}
		})
	}
	wait.Wait()
	text := content(path)
	for w := range writers {
		if n := strings.Count(text, string(rune('a'+w))); n != each {
			t.Errorf("writer %d has %d of %d", w, n, each)
		}
	}
}
