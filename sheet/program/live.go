package program

// Ending is how a table's rows ended.
type Ending uint8

// The endings.
const (
	Ended  Ending = iota // it has no until, or until held in the last live row
	Never                // until never held, or the table's file was not read
	Broken               // until was a fault
)

// liveRows is the extent of a table: its live rows or, if until was a fault,
// the rows before the fault.
type liveRows struct {
	rows int32
	end  Ending
}

// broken reports whether until was a fault in a row (from 0) or above it. Given
// values remain there; computed ones are faults.
func (l liveRows) broken(row int) bool { return l.end == Broken && row >= int(l.rows) }
