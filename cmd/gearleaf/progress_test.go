package main

import (
	"bytes"
	"strings"
	"testing"
	"time"
)

// TestProgress lets a clock of its own run.
func TestProgress(t *testing.T) {
	for _, c := range []struct {
		terminal bool
		every    time.Duration
		want     string
	}{
		{true, 400 * time.Millisecond, own("[G") + own("[K") + "3,000,000 of 10,000,000 scenarios (30 %), 2,500,000 a second, 3s to go"},
		{false, 6 * time.Second, "2,000,000 of 10,000,000 scenarios (20 %), 166,666 a second, 48s to go\n"},
	} {
		var out bytes.Buffer
		now := time.Unix(0, 0)
		p := &progress{w: &out, terminal: c.terminal, of: 10_000_000, unit: "scenarios", now: func() time.Time { return now }}
		p.begin()
		for done := 1_000_000; done <= 3_000_000; done += 1_000_000 {
			now = now.Add(c.every)
			p.at(done)
		}
		if out.String() != c.want {
			t.Errorf("terminal %v: %q, want %q", c.terminal, out.String(), c.want)
		}
		p.end()
		p.end()
		if cleared := strings.HasSuffix(out.String(), "to go"+own("[G")+own("[K")); cleared != c.terminal {
			t.Errorf("terminal %v: ends as %q", c.terminal, out.String())
		}
	}
}

func TestProgressIsQuietAtFirst(t *testing.T) {
	var out bytes.Buffer
	p := newProgress(&out, 100)
	p.at(50)
	p.at(100)
	p.end()
	if out.Len() > 0 {
		t.Errorf("short work says %q", out.String())
	}
}
