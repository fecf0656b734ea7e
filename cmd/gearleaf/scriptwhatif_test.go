package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

// joined concatenates files:
//
//	joined whole.csv 1.csv 2.csv
func joined(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: joined FILE part...")
	}
	var whole []byte
	for _, name := range args[1:] {
		data, err := os.ReadFile(ts.MkAbs(name))
		ts.Check(err)
		whole = append(whole, data...)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), whole, 0o644))
}

// edited changes fields of a workbook as a person does in a spreadsheet:
//
//	edited bike.xlsx rear_sprocket=38 gears.ratio[2]=1.8
func edited(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: edited WORKBOOK name=value...")
	}
	f, err := excelize.OpenFile(ts.MkAbs(args[0]))
	ts.Check(err)
	for _, arg := range args[1:] {
		name, value, _ := strings.Cut(arg, "=")
		name, index, _ := strings.Cut(strings.TrimSuffix(name, "]"), "[")
		row := 1
		if index != "" {
			row, err = strconv.Atoi(index)
			ts.Check(err)
		}
		tab, cell := fieldNamed(ts, f, strings.ReplaceAll(name, ".", "_"), row)
		ts.Check(f.SetCellValue(tab, cell, typed(value)))
	}
	ts.Check(f.Save())
	ts.Check(f.Close())
}

// typed is what a spreadsheet makes of what is typed.
func typed(text string) any {
	if v, err := strconv.ParseFloat(text, 64); err == nil {
		return v
	}
	if text == "yes" || text == "no" {
		return text == "yes"
	}
	return text
}

// fieldNamed returns the row-th cell of what a name of the workbook refers to.
func fieldNamed(ts *testscript.TestScript, f *excelize.File, name string, row int) (tab, cell string) {
	for _, n := range f.GetDefinedName() {
		if n.Name != name {
			continue
		}
		tab, place, _ := strings.Cut(n.RefersTo, "!")
		first, _, _ := strings.Cut(strings.ReplaceAll(place, "$", ""), ":")
		column, at, err := excelize.CellNameToCoordinates(first)
		ts.Check(err)
		cell, err = excelize.CoordinatesToCellName(column, at+row-1)
		ts.Check(err)
		return strings.Trim(tab, "'"), cell
	}
	ts.Fatalf("the workbook has no name %q", name)
	return "", ""
}

// interrupt starts gearleaf, waits until it writes, and stops it as Ctrl-C
// does; it has to end with status 2 and leave no part of a file:
//
//	interrupt gearleaf sweep bike.leaf … -o out.csv
func interrupt(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: interrupt program args...")
	}
	path, err := exec.LookPath(args[0])
	ts.Check(err)
	cmd := exec.Command(path, args[1:]...)
	cmd.Dir = ts.MkAbs(".")
	var errs bytes.Buffer
	cmd.Stderr = &errs
	before := listing(ts)
	ts.Check(cmd.Start())
	stop := time.AfterFunc(time.Minute, func() { _ = cmd.Process.Kill() })
	defer stop.Stop()
	for deadline := time.Now().Add(30 * time.Second); !writing(ts); {
		if time.Now().After(deadline) {
			_ = cmd.Process.Kill()
			ts.Fatalf("it never began to write: %s", errs.String())
		}
		time.Sleep(time.Millisecond)
	}
	ts.Check(cmd.Process.Signal(os.Interrupt))
	err = cmd.Wait()
	if code := cmd.ProcessState.ExitCode(); code != 2 || !strings.Contains(errs.String(), "interrupted; nothing was written") {
		ts.Fatalf("exit status %d (%v): %s", code, err, errs.String())
	}
	if after := listing(ts); after != before {
		ts.Fatalf("the folder held\n%s\nand holds\n%s", before, after)
	}
}

// writing reports whether a temporary file has bytes in it.
func writing(ts *testscript.TestScript) bool {
	names, _ := filepath.Glob(ts.MkAbs(".gearleaf-*.tmp"))
	for _, name := range names {
		if info, err := os.Stat(name); err == nil && info.Size() > 0 {
			return true
		}
	}
	return false
}

// listing is the names of the script's folder.
func listing(ts *testscript.TestScript) string {
	entries, err := os.ReadDir(ts.MkAbs("."))
	ts.Check(err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return strings.Join(names, "\n")
}
