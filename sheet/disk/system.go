package disk

import (
	"io"
	"io/fs"
	"os"
	"runtime"
)

// System is the part of the operating system that this package uses.
type System interface {
	OpenFile(name string, flag int, mode fs.FileMode) (File, error)
	Rename(from, to string) error
	Remove(name string) error
	Mkdir(name string, mode fs.FileMode) error
	Lstat(name string) (fs.FileInfo, error)
	// Windows reports whether the rules of Windows apply: an open file cannot
	// be replaced, some names are devices.
	Windows() bool
}

// File is an open file.
type File interface {
	io.Reader
	io.Writer
	Chmod(mode fs.FileMode) error
	Chown(uid, gid int) error
	Close() error
	Stat() (fs.FileInfo, error)
	Sync() error
	Truncate(size int64) error
}

// system is the one in use.
var system System = osSystem{}

// SetSystem replaces the operating system by s and returns a function that
// restores it. Tests use it to make operations fail.
func SetSystem(s System) (restore func()) {
	old := system
	system = s
	return func() { system = old }
}

// OS is the operating system itself.
func OS() System { return osSystem{} }

type osSystem struct{}

func (osSystem) OpenFile(name string, flag int, mode fs.FileMode) (File, error) {
	f, err := os.OpenFile(name, flag, mode)
	if err != nil {
		return nil, err // not a File with a nil pointer
	}
	return f, nil
}

func (osSystem) Rename(from, to string) error              { return os.Rename(from, to) }
func (osSystem) Remove(name string) error                  { return os.Remove(name) }
func (osSystem) Mkdir(name string, mode fs.FileMode) error { return os.Mkdir(name, mode) }
func (osSystem) Lstat(name string) (fs.FileInfo, error)    { return os.Lstat(name) }
func (osSystem) Windows() bool                             { return runtime.GOOS == "windows" }
