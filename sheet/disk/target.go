package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// target is the file that is to be written.
type target struct {
	asked string // the path as given, for messages
	path  string // links followed
	info  fs.FileInfo
}

// exists reports whether there is a file already.
func (t target) exists() bool { return t.info != nil }

// Refused is why a file is refused before anything is written.
type Refused struct{ Path, Why string }

// Error returns the reason.
func (r Refused) Error() string { return r.Path + " " + r.Why + "; nothing was written" }

// look follows links at path and refuses targets that must not be overwritten.
func look(path string) (target, error) {
	real, info, err := follow(path)
	t := target{path, real, info}
	if info == nil {
		if err := hasFolder(filepath.Dir(real)); err != nil {
			return t, err
		}
	}
	refuse := func(why string) (target, error) { return t, Refused{path, why} }
	switch {
	case err != nil:
		return t, err
	case system.Windows() && isDevice(filepath.Base(real)):
		return refuse("is the name of a device on Windows")
	case info == nil:
		return t, nil
	case info.IsDir():
		return refuse("is a folder")
	case !info.Mode().IsRegular():
		return refuse("is a device or a pipe, not an ordinary file")
	case info.Mode().Perm()&0o222 == 0:
		return refuse("is write-protected")
	}
	return t, nil
}

// hasFolder refuses to write into a folder that does not exist.
func hasFolder(folder string) error {
	info, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no folder %s: make it first, or name another one; nothing was written", folder)
	case err == nil && !info.IsDir():
		return fmt.Errorf("%s is a file, not a folder: name another one; nothing was written", folder)
	}
	return nil // other errors are found when it is written
}

// mostLinks is the largest number of symbolic links to a file.
const mostLinks = 40

// follow returns the target of path, and its file info; nil if it does not
// exist.
func follow(path string) (string, fs.FileInfo, error) {
	for range mostLinks {
		info, err := system.Lstat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return path, nil, nil
		case err != nil:
			return path, nil, err
		case info.Mode()&fs.ModeSymlink == 0:
			return path, info, nil
		}
		to, err := os.Readlink(path)
		if err != nil {
			return path, nil, err
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(path), to)
		}
		path = to
	}
	return path, nil, fmt.Errorf("%s: too many symbolic links", path)
}

// isDevice reports whether a name is a device on Windows, whatever follows its
// first dot.
func isDevice(name string) bool {
	name, _, _ = strings.Cut(strings.ToUpper(name), ".")
	name = strings.TrimRight(name, " ")
	switch name {
	case "CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$":
		return true
	}
	digit, isPort := strings.CutPrefix(name, "COM")
	if !isPort {
		digit, isPort = strings.CutPrefix(name, "LPT")
	}
	return isPort && strings.Contains("1 2 3 4 5 6 7 8 9 ¹ ² ³", digit) && digit != "" && digit != " "
}
