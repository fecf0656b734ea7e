package main

import (
	"fmt"
	"io"
	"time"
)

// The time before the first report of progress, and between reports: a terminal
// has one changing line, any other output a line at longer intervals.
const (
	quietFor      = time.Second
	terminalEvery = 200 * time.Millisecond
	lineEvery     = 10 * time.Second
)

// progress shows the progress of long work.
type progress struct {
	w        io.Writer
	terminal bool
	of       int
	unit     string // what is counted
	now      func() time.Time
	start    time.Time
	next     time.Time
	shown    bool
}

func newProgress(w io.Writer, of int) *progress {
	p := &progress{w: w, terminal: isTerminal(w), of: of, unit: "scenarios", now: time.Now}
	p.begin()
	return p
}

func (p *progress) begin() {
	p.start = p.now()
	p.next = p.start.Add(quietFor)
	if !p.terminal {
		p.next = p.start.Add(lineEvery)
	}
}

// part shows the completed part of a total.
func (p *progress) part(done, of int) {
	p.of = of
	p.at(done)
}

// at shows the completed number.
func (p *progress) at(done int) {
	now := p.now()
	if now.Before(p.next) {
		return
	}
	rate := float64(done) / now.Sub(p.start).Seconds()
	left := time.Duration(float64(p.of-done) / rate * float64(time.Second)).Round(time.Second)
	text := fmt.Sprintf("%s of %s %s (%.0f %%), %s a second, %s to go", grouped(done), grouped(p.of), p.unit, 100*float64(done)/float64(p.of), grouped(int(rate)), left)
	p.shown = p.terminal
	if p.terminal {
		fmt.Fprint(p.w, own("[G")+own("[K")+text)
		flush(p.w)
		p.next = now.Add(terminalEvery)
		return
	}
	fmt.Fprintln(p.w, text)
	p.next = now.Add(lineEvery)
}

// end clears the line.
func (p *progress) end() {
	if p.shown {
		fmt.Fprint(p.w, own("[G")+own("[K"))
		flush(p.w)
		p.shown = false
	}
}
