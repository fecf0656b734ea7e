// Package disk writes files: whole, or not at all. After any failure, a full disk, a
// signal, a kill, the file has its former content or the new one.
//
// New content goes to a temporary file in the same folder, is synced to the disk,
// and takes the name of the old file. A file that cannot be replaced in this way,
// because it has several links or an owner that cannot be set, is written in place
// after a backup. Writers of one folder wait for each other with a lock of the
// operating system, which a process releases when it dies.
//
// The maintained library for this (renameio) does not write on Windows and keeps
// neither owner nor links.
package disk
