package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/passbook"
)

// admitOutput refuses to overwrite a file that must not be lost: one that the
// command reads, a worksheet, a book of passes, and any file that is not
// regular.
func admitOutput(output string, reads ...string) error {
	if output == "" || output == "-" {
		return nil
	}
	for i, path := range reads {
		switch {
		case !sameFile(output, path):
		case i == 0:
			return fmt.Errorf("%s is the worksheet itself: give another file to write", output)
		default:
			return fmt.Errorf("%s is read here: give another file to write", output)
		}
	}
	if err := disk.Check(output); err != nil {
		return err
	}
	if _, err := os.Stat(output); err != nil {
		return nil
	}
	switch {
	case strings.EqualFold(filepath.Ext(output), ".leaf"):
		return fmt.Errorf("%s is a worksheet: give another file to write", output)
	case passbook.Is(output):
		return fmt.Errorf("%s is a book of passes: give another file to write", output)
	}
	return nil
}

// sameFile reports whether two paths name the same file.
func sameFile(a, b string) bool {
	if filepath.Clean(a) == filepath.Clean(b) {
		return true
	}
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// mostTries bounds the repeated reads of a worksheet that other programs
// change.
const mostTries = 100

// again does work, which ends by writing the worksheet at path, and repeats it
// if another program has changed the worksheet in between: no change is lost,
// and the shown result is the written one.
func again(cmd *cobra.Command, path string, work func() error) error {
	for tries := 1; ; tries++ {
		err := work()
		if !errors.Is(err, disk.ErrChanged) || tries == mostTries {
			return err
		}
		fmt.Fprintf(cmd.ErrOrStderr(), "gearleaf: another program has changed %s meanwhile: it is read again\n", path)
	}
}

// loadFor loads a sheet from which output is to be written. Files that must not
// be overwritten are refused as early as possible.
func loadFor(cmd *cobra.Command, path, output string) (*sheet.Sheet, error) {
	if err := admitOutput(output, path); err != nil {
		return nil, err
	}
	s, err := load(cmd, path)
	if err != nil {
		return nil, err
	}
	return s, admitOutput(output, s.Reads()...)
}
