//go:build unix

package disk

import (
	"io/fs"
	"syscall"
)

// owner returns the owner of a file and its number of links.
func owner(info fs.FileInfo) (uid, gid, links int) {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return int(s.Uid), int(s.Gid), int(s.Nlink)
	}
	return 0, 0, 1
}

// raise ends this process by the caught signal.
func raise(sig syscall.Signal) { _ = syscall.Kill(syscall.Getpid(), sig) }
