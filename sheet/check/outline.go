package check

import "iter"

// Item is one entry of the outline; exactly one field besides File is set.
type Item struct {
	File    int // index in Model.Files of the file it is in
	Section string
	Note    string
	Cell    *Cell
	Table   *Table
	Limit   *Limit
	Chart   *Chart
}

// entry is an Item as a model stores it: its kind, and its index in the list of
// that kind. Cells of one file that follow each other share one.
type entry struct {
	kind  itemKind
	file  uint16 // source.MaxUses is far below
	index int32
	more  int32 // cells after the first
}

type itemKind uint8

const (
	sectionItem itemKind = iota
	noteItem
	cellItem
	tableItem
	limitItem
	chartItem
)

// Outline lists everything in the sheet, in reading order.
func (m *Model) Outline() iter.Seq[Item] {
	return func(yield func(Item) bool) {
		for _, e := range m.outline {
			for ; e.more >= 0; e.more-- {
				if !yield(m.item(e)) {
					return
				}
				e.index++
			}
		}
	}
}

func (m *Model) item(e entry) Item {
	i := Item{File: int(e.file)}
	switch e.kind {
	case sectionItem:
		i.Section = m.outlined[e.index]
	case noteItem:
		i.Note = m.outlined[e.index]
	case cellItem:
		i.Cell = m.Cells[e.index]
	case tableItem:
		i.Table = m.Tables[e.index]
	case limitItem:
		i.Limit = m.Limits[e.index]
	case chartItem:
		i.Chart = m.Charts[e.index]
	}
	return i
}

// Append adds i to the outline. A cell, table or limit is identified by its
// Index; a chart is always the last one of the model.
func (m *Model) Append(i Item) {
	e := entry{file: uint16(i.File)}
	switch {
	case i.Cell != nil:
		m.appendCell(entry{kind: cellItem, file: e.file, index: i.Cell.Index})
		return
	case i.Table != nil:
		e.kind, e.index = tableItem, int32(i.Table.Index)
	case i.Limit != nil:
		e.kind, e.index = limitItem, int32(i.Limit.Index)
	case i.Chart != nil:
		e.kind, e.index = chartItem, int32(len(m.Charts)-1)
	default:
		if i.Section == "" {
			e.kind = noteItem
		}
		e.index = int32(len(m.outlined))
		m.outlined = append(m.outlined, i.Section+i.Note)
	}
	m.outline = append(m.outline, e)
}

func (m *Model) appendCell(e entry) {
	if n := len(m.outline); n > 0 {
		last := &m.outline[n-1]
		if last.kind == cellItem && last.file == e.file && last.index+last.more+1 == e.index {
			last.more++
			return
		}
	}
	m.outline = append(m.outline, e)
}
