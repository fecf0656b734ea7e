package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"gearleaf/sheet/outside"
	"gearleaf/templates"
)

func TestMain(m *testing.M) {
	_ = os.Unsetenv("COLUMNS") // the width of whoever runs the tests
	testscript.Main(m, map[string]func(){
		"gearleaf": main,
	})
}

// TestScripts runs the commands as a user does. One script alone:
//
//	go test ./cmd/gearleaf -run 'TestScripts/^calc$'
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       os.Getenv("GEARLEAF_UPDATE") != "",
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exits":    exits,
			"bounded":  bounded,
			"grow":     grow,
			"template": template,
			"hour":     hour,
			"peak":     peak,
			"append":   appendTo,
			"cut":      cutLinesOff,

			"edited":    edited,
			"interrupt": interrupt,
			"joined":    joined,
		},
		Setup: func(env *testscript.Env) error {
			env.Setenv("TERM", "xterm-256color")
			return nil
		},
		Condition: func(cond string) (bool, error) {
			switch cond {
			case "root":
				return os.Geteuid() == 0, nil
			case "require": // a missing outside tool is a failure
				return outside.Required(), nil
			}
			return false, fmt.Errorf("unknown condition %q", cond)
		},
	})
}

// exits runs a program and demands an exit status:
//
//	exits 2 gearleaf calc broken.leaf
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits STATUS program args...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// bounded runs gearleaf, demands exit status 2 without a panic, and that it
// took no more than so many MiB and seconds; its standard error goes to a file:
//
//	bounded 600 20 stderr.txt gearleaf calc huge.leaf
//
// The seconds are a stop for what never ends, not a measure of speed.
func bounded(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 5 {
		ts.Fatalf("usage: bounded MIB SECONDS FILE program args...")
	}
	mib, err := strconv.Atoi(args[0])
	ts.Check(err)
	seconds, err := strconv.Atoi(args[1])
	ts.Check(err)
	path, err := exec.LookPath(args[3])
	ts.Check(err)
	cmd := exec.Command(path, args[4:]...)
	cmd.Dir = ts.MkAbs(".")
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	freshPeak()
	ts.Check(cmd.Start())
	if racing {
		seconds *= 10
	}
	stop := time.AfterFunc(time.Duration(seconds)*time.Second, func() { _ = cmd.Process.Kill() })
	err = cmd.Wait()
	if !stop.Stop() {
		ts.Fatalf("it did not end within %d s", seconds)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), errs.Bytes(), 0o644))
	if code := cmd.ProcessState.ExitCode(); code != 2 || strings.Contains(errs.String(), "goroutine ") {
		ts.Fatalf("exit status %d (%v), want 2 and no panic:\n%.4000s", code, err, errs.String())
	}
	if errs.Len()+out.Len() > 100_000 {
		ts.Fatalf("%d bytes were printed", errs.Len()+out.Len())
	}
	if used, known := peakMiB(cmd.ProcessState); known && !racing && used > mib {
		ts.Fatalf("it took %d MiB, more than %d", used, mib)
	}
}

// grow writes large input, which no script should hold: a head, a part over
// and over, and a tail, \n in them a line end:
//
//	grow FILE head part times tail
func grow(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 5 {
		ts.Fatalf("usage: grow FILE head part times tail")
	}
	times, err := strconv.Atoi(args[3])
	ts.Check(err)
	lines := strings.NewReplacer(`\n`, "\n", `\r`, "\r", `\xFF`, "\xFF")
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	w := bufio.NewWriter(f) // not in memory: a child's peak begins at ours
	w.WriteString(lines.Replace(args[1]))
	for part := lines.Replace(args[2]); times > 0; times-- {
		w.WriteString(part)
	}
	w.WriteString(lines.Replace(args[4]))
	ts.Check(w.Flush())
	ts.Check(f.Close())
}

// template writes a template of the program to a file, its lines ended by CRLF
// where asked:
//
//	template sprocket-change bike.leaf [crlf]
func template(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: template NAME FILE [crlf]")
	}
	t, ok := templates.Find(args[0])
	if !ok {
		ts.Fatalf("no template %q", args[0])
	}
	text := t.Text
	if len(args) > 2 {
		text = strings.ReplaceAll(text, "\n", "\r\n")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(text), 0o644))
}
