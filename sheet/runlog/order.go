package runlog

import (
	"fmt"
	"math"
)

// finish reports odd rows, and sorts the rows by time.
func (r *reader) finish() (*Log, error) {
	l := r.log
	name := l.Name
	if l.Rows() == 0 {
		return nil, &Mistake{name, l.Layout.FirstLine, "no row can be used", ""}
	}
	if r.ragged.count > l.Rows() {
		return nil, &Mistake{name, r.ragged.line, fmt.Sprintf("%d lines do not have the %d fields of the head", r.ragged.count, len(r.fields)), ""}
	}
	for k, t := range r.text {
		c := l.Columns[k]
		switch {
		case t.count == 0:
		case 2*t.count > l.Rows()+r.noTime.count:
			return nil, &Mistake{name, t.line, fmt.Sprintf("%q is in the column %q, which should hold numbers", t.sample, c.Head), "most of its fields are not numbers: is it the right column?"}
		default:
			l.find(t.line, t.count, fmt.Sprintf("%q in the column %q is not a number; such fields are left out", t.sample, c.Head))
		}
	}
	if t := r.ragged; t.count > 0 {
		l.find(t.line, t.count, "the line does not have as many fields as the head; such lines are left out")
	}
	if t := r.noTime; t.count > 0 {
		l.find(t.line, t.count, "the row has no time; such rows are left out")
	}
	if r.cut > 0 {
		l.find(r.cut, 1, "the last line is truncated and is left out")
	}
	l.duplicates()
	l.order()
	return l, nil
}

func (l *Log) find(line, count int, text string) {
	l.Findings = append(l.Findings, Finding{Line: line, Count: count, Text: text})
}

// duplicates reports repeated heads; a wanted one has been refused.
func (l *Log) duplicates() {
	first := map[string]int{}
	for i, h := range l.Layout.Heads {
		if at, twice := first[h.Text]; twice && h.Text != "" {
			l.find(l.Layout.HeadLine, 1, fmt.Sprintf("columns %d and %d are both headed %q; neither is used", at+1, i+1, h.Text))
			continue
		}
		first[h.Text] = i
	}
}

// ahead is how many consecutive rows with earlier times make a new recording;
// fewer are rows out of place.
const ahead = 4

// farAhead bounds the time between two rows of one recording, in usual steps
// from row to row: a clock that jumps further has been set, or is wrong.
const farAhead = 10_000

// order drops rows whose time does not rise, and finds the rows at which the
// time starts again or jumps ahead.
func (l *Log) order() {
	time := l.Columns[0].Values
	far := farAhead * usualStep(time)
	var still, back, jumped tally
	l.Segments = []int{0}
	keep, lines := 0, []lineMark{}
	for i := range time {
		if keep > 0 && time[i]-time[keep-1] > far {
			jump := fmt.Sprintf("from %g to %g", time[keep-1], time[i])
			if l.jumpsBack(i, time[keep-1]) {
				jumped.add(l.Line(i), []byte(jump))
				continue
			}
			l.find(l.Line(i), 1, "the time jumps ahead, "+jump+": the rest is read as another recording")
			l.Segments = append(l.Segments, keep)
		}
		if keep > 0 && keep > l.Segments[len(l.Segments)-1] && time[i] <= time[keep-1] {
			switch {
			case time[i] == time[keep-1]:
				still.add(l.Line(i), nil)
				continue
			case !l.restarts(i, time[keep-1]):
				back.add(l.Line(i), []byte(fmt.Sprintf("from %g to %g", time[keep-1], time[i])))
				continue
			}
			l.find(l.Line(i), 1, fmt.Sprintf("the time starts again, from %g to %g: the file holds several recordings", time[keep-1], time[i]))
			l.Segments = append(l.Segments, keep)
		}
		if keep != i || len(lines) == 0 {
			lines = appendMark(lines, keep, l.Line(i))
			for k := range l.Columns {
				l.Columns[k].Values[keep] = l.Columns[k].Values[i]
			}
		} else {
			lines = appendMark(lines, keep, l.Line(i))
		}
		keep++
	}
	l.lines = lines
	for k := range l.Columns {
		l.Columns[k].Values = l.Columns[k].Values[:keep]
	}
	if jumped.count > 0 {
		l.find(jumped.line, jumped.count, "the time jumps ahead, "+jumped.sample+", and back; such rows are left out")
	}
	if still.count > 0 {
		l.find(still.line, still.count, "the time does not advance; such rows are left out")
	}
	if back.count > 0 {
		l.find(back.line, back.count, "the time runs backwards, "+back.sample+"; such rows are left out")
	}
}

func appendMark(lines []lineMark, row, line int) []lineMark {
	if n := len(lines); n > 0 && lines[n-1].line+row-lines[n-1].row == line {
		return lines
	}
	return append(lines, lineMark{row, line})
}

// usualStep returns the middle one of the steps by which time rises.
func usualStep(time []float64) float64 {
	const looked = 100_000
	var steps []float64
	for i := 1; i < len(time) && i < looked; i++ {
		if step := time[i] - time[i-1]; step > 0 {
			steps = append(steps, step)
		}
	}
	if len(steps) == 0 {
		return math.Inf(1)
	}
	return median(steps)
}

// jumpsBack reports whether one of the rows directly after i, whose time has
// jumped ahead, continues from last: then the rows between are wrong.
func (l *Log) jumpsBack(i int, last float64) bool {
	time := l.Columns[0].Values
	for k := i + 1; k <= i+ahead && k < len(time); k++ {
		if time[k] > last && time[k]-last < time[i]-time[k] {
			return true
		}
	}
	return false
}

// restarts reports whether the rows from i on keep rising below last.
func (l *Log) restarts(i int, last float64) bool {
	time := l.Columns[0].Values
	for k := 1; k <= ahead; k++ {
		if i+k >= len(time) {
			return k > 2
		}
		if time[i+k] <= time[i+k-1] || time[i+k] >= last {
			return false
		}
	}
	return true
}
