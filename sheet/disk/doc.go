// Package disk writes files: whole, or not at all. Whatever goes wrong, a full
// disk, a signal, a kill, the file has its former content or what it is to
// hold now.
//
// New content goes to a temporary file in the same folder, is synced to the
// disk, and takes the name of the old file. A file that cannot be replaced
// like this, because it has several links or an owner that we cannot give, is
// written in place after a backup was made. Writers of one folder wait for each other
// with a lock that the operating system holds, so that a process that dies
// releases it.
//
// It is our own because the maintained library for this (renameio) does not
// write on Windows and keeps neither owner nor links.
package disk
