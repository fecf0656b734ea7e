package speed

import (
	"flag"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

var table = flag.Bool("table", false, "measure everything and print the table")

// rounds is how often each measurement is made, and enough how long one lasts
// at least.
var rounds, enough = 7, 40 * time.Millisecond

// TestTable keeps the table whole: every comparison runs, and its line has all
// its figures. How long something took it never asks. With -table it measures
// properly, large sheets too, and prints the table in Markdown.
func TestTable(t *testing.T) {
	if !*table {
		rounds, enough = 1, time.Microsecond
		for _, r := range comparisons(t) {
			line := measure(r)
			if fields := strings.Split(line, "|"); len(fields) != 9 || slices.Contains(fields[1:7], "  ") || strings.Contains(line, "NaN") || strings.Contains(line, "Inf") {
				t.Errorf("a line that is not whole: %s", line)
			}
		}
		return
	}
	runtime.LockOSThread()
	var out strings.Builder
	fmt.Fprintf(&out, "%s, %s/%s, %s\n\n", processor(), runtime.GOOS, runtime.GOARCH, runtime.Version())
	out.WriteString("| what | against | by it | program | per cell | ratio | goal |\n|---|---|--:|--:|--:|--:|--:|\n")
	for _, r := range comparisons(t) {
		fmt.Fprintln(&out, measure(r))
	}
	for _, l := range layered() {
		fmt.Fprintln(&out, strings.Join(l.measure(t), "\n"))
		if l.name == "layers/1000000" {
			fmt.Fprintln(&out, weigh(t, l.text, l.cells).rows(l.name))
		}
		*l = large{} // before the next one
	}
	fmt.Fprintln(&out, commands(t))
	fmt.Print(out.String())
}

// measure is one line of the table.
func measure(r row) string {
	clock, turns := threadTime, rounds
	cores := strings.HasSuffix(r.name, "all-cores")
	if cores {
		began := time.Now()
		clock = func() time.Duration { return time.Since(began) }
		turns *= 4
	}
	var hand, prog, ratio []float64
	for range turns {
		h, p := once(clock, r.hand), once(clock, r.prog)
		hand, prog, ratio = append(hand, h), append(prog, p), append(ratio, p/h)
	}
	against := r.by
	if against == "" {
		against = "hand-written Go"
	}
	goal := ""
	if r.goal > 0 {
		goal = fmt.Sprintf("≤ %.3g", r.goal)
	}
	h, p, q := median(hand), median(prog), median(ratio)
	if cores { // whatever else runs takes one away: what counts is how it goes while nothing does
		h, p = slices.Min(hand), slices.Min(prog)
		q = p / h
	}
	return fmt.Sprintf("| %s | %s | %s | %s | %.3g ns | %.3g | %s |",
		r.name, against, length(h), length(p), p/float64(r.cells), q, goal)
}

// once returns the nanoseconds that one turn of f takes, over enough turns.
func once(clock func() time.Duration, f func()) float64 {
	f()
	for n := 1; ; n *= 2 {
		began := clock()
		for range n {
			f()
		}
		if took := clock() - began; took >= enough {
			return float64(took) / float64(n)
		}
	}
}

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// length writes nanoseconds in the unit that suits them.
func length(ns float64) string {
	switch {
	case ns < 1e3:
		return fmt.Sprintf("%.3g ns", ns)
	case ns < 1e6:
		return fmt.Sprintf("%.3g µs", ns/1e3)
	}
	return fmt.Sprintf("%.3g ms", ns/1e6)
}

// processor names the machine's processor where the system tells it.
func processor() string {
	info, _ := os.ReadFile("/proc/cpuinfo")
	for line := range strings.Lines(string(info)) {
		if name, ok := strings.CutPrefix(line, "model name"); ok {
			return strings.Trim(name, "\t :\n")
		}
	}
	return "unknown processor"
}

func BenchmarkAgainst(b *testing.B) {
	for _, r := range comparisons(b) {
		b.Run(r.name+"/hand", func(b *testing.B) { turns(b, r.hand, r.cells) })
		b.Run(r.name+"/program", func(b *testing.B) { turns(b, r.prog, r.cells) })
	}
}

func turns(b *testing.B, f func(), cells int) {
	f()
	for b.Loop() {
		f()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(cells), "ns/cell")
}
