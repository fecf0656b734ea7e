package main

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"gearleaf/sheet"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/runlog"
)

// hour writes an invented log of an hour at a thousand samples a second, ten
// columns wide, the sheet's pass near its end:
//
//	hour SHEET FILE
func hour(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: hour SHEET FILE")
	}
	s, list := sheet.Load(ts.MkAbs(args[0]))
	if s == nil {
		ts.Fatalf("%v", list)
	}
	q := pass.InventQuestion{Mapping: pass.Mapping(s), Seed: 5, Rate: 1000, Noise: 1, Delimiter: ',', Point: '.', Before: 3585, After: 7.8}
	for _, name := range []string{"Oil pressure", "Battery", "Head temperature", "Lambda 1", "Fork"} {
		series := runlog.Series{T: []float64{0, 1}, V: []float64{4, 4}}
		q.Additional = append(q.Additional, runlog.Invented{Head: name, Series: series, Noise: 0.05, Step: 0.01})
	}
	f, err := os.Create(ts.MkAbs(args[1]))
	ts.Check(err)
	w := bufio.NewWriter(f)
	ts.Check(pass.Invent(s, w, q))
	ts.Check(w.Flush())
	ts.Check(f.Close())
}

// peak runs a program that must succeed within so many MiB; what it prints
// goes to a file:
//
//	peak 1024 stdout.txt gearleaf log sheet.leaf hour.csv
func peak(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: peak MIB FILE program args...")
	}
	mib, err := strconv.Atoi(args[0])
	ts.Check(err)
	path, err := exec.LookPath(args[2])
	ts.Check(err)
	cmd := exec.Command(path, args[3:]...)
	cmd.Dir = ts.MkAbs(".")
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	freshPeak()
	if err := cmd.Run(); err != nil {
		ts.Fatalf("%v: %s", err, strings.TrimSpace(errs.String()))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), out.Bytes(), 0o644))
	if used, known := peakMiB(cmd.ProcessState); known && !racing && used > mib {
		ts.Fatalf("it took %d MiB, more than %d", used, mib)
	} else {
		ts.Logf("it took %d MiB", used)
	}
}

// appendTo adds text to a file, as a program that dies while it writes:
//
//	append FILE text
func appendTo(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: append FILE text")
	}
	f, err := os.OpenFile(ts.MkAbs(args[0]), os.O_APPEND|os.O_WRONLY, 0o644)
	ts.Check(err)
	_, err = f.WriteString(args[1])
	ts.Check(err)
	ts.Check(f.Close())
}

// cutLinesOff keeps the first lines of a file:
//
//	cut FILE lines
func cutLinesOff(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: cut FILE lines")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	lines := strings.SplitAfterN(ts.ReadFile(args[0]), "\n", n+1)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Join(lines[:min(n, len(lines))], "")), 0o644))
}
