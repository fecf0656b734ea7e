package syntax

import "sort"

// arrange assigns every segment its column. Blocks of several lines come first:
// a single line may use the columns that they keep.
func (p *printer) arrange() {
	blocks := p.blocks()
	for _, slots := range [][2]int{{slotHead, slotValue}, {slotStart, slotComment}} {
		p.stops = map[int]bool{}
		for _, b := range blocks {
			if len(b) > 1 {
				p.layout(b, slots, true)
			}
		}
		for _, b := range blocks {
			p.layout(b, slots, false)
		}
	}
}

// blocks splits the rows into runs of one group without blank lines between
// them.
func (p *printer) blocks() [][]*row {
	var list [][]*row
	var block []*row
	for i := range p.rows {
		r := &p.rows[i]
		if r.raw {
			continue
		}
		if len(block) > 0 {
			last := block[len(block)-1]
			if r.gapped || r.group != last.group || r.indent != last.indent || r.group == noGroup {
				list, block = append(list, block), nil
			}
		}
		block = append(block, r)
	}
	if len(block) > 0 {
		list = append(list, block)
	}
	return list
}

// entry is one segment of a block that needs a column.
type entry struct {
	row  *row
	seg  *segment
	prev *segment // before it in the row
	need int      // its first free column
}

// layout places the segments of a block, slot by slot. If learn is set, it
// records the columns that the block keeps.
func (p *printer) layout(block []*row, from [2]int, learn bool) {
	for slot := from[0]; slot <= from[1]; slot++ {
		entries, later := p.entries(block, slot)
		if len(entries) == 0 {
			continue
		}
		column, kept := p.column(block[0].group, slot, entries, later && len(block) > 1)
		if kept && learn {
			p.stops[column] = true
		}
		for _, e := range entries {
			e.seg.column = e.need
			switch {
			case e.prev != nil && e.prev.lines || column >= 0 && e.need > column:
				e.seg.column = e.need - e.seg.gap + p.ownGap(e)
			case column >= 0:
				e.seg.column = column
			}
			if e.seg.lines {
				p.settleLines(e)
			}
		}
	}
}

// settleLines computes the width of a segment of several lines, the end of its
// last line, once its column is known.
func (p *printer) settleLines(e entry) {
	s := e.seg
	start := p.lineStart(s.span.End)
	if start <= s.span.Start {
		s.width = s.indent + width(p.text[s.span.Start:s.span.End])
		return
	}
	first := start
	for class[p.text[first]] == classBlank {
		first++
	}
	shift := s.column + s.indent - p.columnOf(s.span.Start)
	s.width = p.shifted(e.row, first, shift) + width(p.text[first:s.span.End]) - s.column
}

// entries returns the segments of block in slot, and whether one of its rows
// has a later one.
func (p *printer) entries(block []*row, slot int) (list []entry, later bool) {
	for _, r := range block {
		need := r.indent
		var prev *segment
		for i := range r.n {
			s := &p.segs[r.first+i]
			if s.slot == slot {
				list = append(list, entry{r, s, prev, need + s.gap})
			}
			later = later || s.slot > slot
			need = s.column + s.width
			prev = s
		}
	}
	return list, later
}

// The greatest distance by which one segment moves those of the lines around
// it, and the column beyond which long ones do not move others.
const farthest = 24

var pushLimit = [...]int{slotHead: 40, slotValue: 40, slotStart: 72, slotRange: 90, slotAs: 100, slotLabel: 116, slotComment: 132}

// column returns the column of the segments in entries, -1 if each is separate,
// and whether several lines keep it. A column that a person has given to all of
// them, or that other lines of the sheet keep, stays.
func (p *printer) column(g group, slot int, entries []entry, later bool) (column int, kept bool) {
	least, n := common(entries, pushLimit[slot])
	have, same := p.keptColumn(entries, least)
	switch {
	case slot == slotHead:
		return least, false
	case same && p.stops[have] && (n > 1 || !later):
		return have, n > 1 && slot != slotValue
	case slot == slotValue && g == bodyGroup || slot != slotValue:
		if n > 1 && same && have-least <= 2*farthest {
			return have, slot != slotValue
		}
	case n > 1 && same && have == least:
		return least, true
	}
	if slot == slotValue && (g == bodyGroup || g == noGroup) {
		return -1, false
	}
	return least, false
}

// common returns the column that entries share, except those that would move
// the others too far, and how many share it.
func common(entries []entry, limit int) (column, n int) {
	needs := make([]int, 0, len(entries))
	for _, e := range entries {
		if e.prev == nil || !e.prev.lines {
			needs = append(needs, e.need)
		}
	}
	if len(needs) == 0 {
		return -1, 0
	}
	sort.Ints(needs)
	i := max(lastOfChain(needs, limit), lastOfMany(needs, limit))
	return needs[i], sort.SearchInts(needs, needs[i]+1)
}

// lastOfChain returns the index of the last need that can be reached from the
// first in small steps.
func lastOfChain(needs []int, limit int) int {
	i := 0
	for i+1 < len(needs) && needs[i+1]-needs[i] <= farthest && (needs[i+1] <= limit || needs[i+1]-needs[0] <= farthest) {
		i++
	}
	return i
}

// lastOfMany returns the index of the last need of about a third of the lines:
// a few short lines do not separate the others.
func lastOfMany(needs []int, limit int) int {
	enough := max(2, len(needs)/3)
	for i := len(needs) - 1; i > 0; i-- {
		near := sort.SearchInts(needs, needs[i]-farthest)
		if needs[i] <= limit && i-near+1 >= enough {
			return i
		}
	}
	return 0
}

// keptColumn returns the column of the entries in the source, and whether they
// share one that is not too near.
func (p *printer) keptColumn(entries []entry, least int) (column int, same bool) {
	column = -1
	for _, e := range entries {
		if e.need > least || e.prev != nil && e.prev.lines {
			continue
		}
		at := p.columnOf(e.seg.place)
		if column >= 0 && at != column {
			return column, false
		}
		column = at
	}
	return column, column >= least && column >= 0
}

// ownGap returns the number of blanks before a segment that is not aligned: as
// in the source, if they are few.
func (p *printer) ownGap(e entry) int {
	if e.prev == nil || e.seg.slot <= slotValue {
		return e.seg.gap
	}
	n := int(e.seg.span.Start - e.prev.span.End)
	if n >= e.seg.gap && n <= e.seg.gap+2 {
		return n
	}
	return e.seg.gap
}
