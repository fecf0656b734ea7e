package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"gearleaf/sheet/generate"
)

// TestExportIsFast bounds what a workbook takes: processor time of the whole
// command, memory, and bytes of the file for an entry of a table. DEVELOPERS.md
// lists the figures measured on an idle machine. Time has twice the bound that is
// kept there, memory a fifth more, and the least of some runs counts, so that other programs on the
// machine do not break it.
func TestExportIsFast(t *testing.T) {
	t.Chdir(t.TempDir())
	status(t, 0, "new", "quarter-mile")
	status(t, 0, "new", "set-up-book")
	mustWriteFile(t, "table.leaf", entries100k())
	mustWriteFile(t, "scalars.leaf", generate.Layered(100_000, 1))
	for _, c := range []struct {
		name    string
		seconds float64
		mib     int
		bytes   int64
	}{
		{"quarter-mile", 0.25, 72, 12 * 171_778},
		{"set-up-book", 0.3, 96, 12*172_775 + 200_000},
		{"table", 0.3, 72, 14 * 100_000},
		{"scalars", 1.5, 420, 140 * 100_000},
	} {
		var took float64
		var mib int
		var known bool
		for range 4 {
			cmd := exec.Command("gearleaf", "export", c.name+".leaf", "-o", c.name+".xlsx")
			freshPeak()
			out, err := cmd.CombinedOutput()
			state := cmd.ProcessState
			if state == nil || state.ExitCode() > 1 {
				t.Fatalf("%s: %v: %.500s", c.name, err, out)
			}
			took = (state.UserTime() + state.SystemTime()).Seconds()
			if mib, known = peakMiB(state); racing || took <= 2*c.seconds {
				break
			}
			time.Sleep(time.Second)
		}
		info, err := os.Stat(c.name + ".xlsx")
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.2f s, %d MiB, %d bytes", c.name, took, mib, info.Size())
		if info.Size() > c.bytes {
			t.Errorf("%s: %d bytes, more than %d", c.name, info.Size(), c.bytes)
		}
		if racing {
			continue
		}
		if took > 2*c.seconds {
			t.Errorf("%s: %.2f s of processor in each of four runs, more than twice %.2f s", c.name, took, c.seconds)
		}
		if known && mib > c.mib {
			t.Errorf("%s: %d MiB, more than %d", c.name, mib, c.mib)
		}
	}
}

// entries100k is a table of 100,000 entries.
func entries100k() string {
	var text strings.Builder
	text.WriteString("k : 2\ntable run rows 10000\n  c0 = 1.5 * k + row\n")
	for i := 1; i < 10; i++ {
		fmt.Fprintf(&text, "  c%d = c%d * 1.01 + row * k\n", i, i-1)
	}
	return text.String()
}
