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

// presence is the state of a row's value.
type presence uint8

const (
	present presence = iota // a value
	gone                    // nothing: the row is past the last live one
	atFault                 // a fault: until was one here or above
)

// at returns the state of a row (from 0) of a column with size rows. Given
// values remain even if the rest of the row is a fault.
func (l liveRows) at(row, size int, computed bool) presence {
	switch {
	case row < int(l.rows):
		return present
	case l.end != Broken || row >= size:
		return gone
	case computed:
		return atFault
	}
	return present
}
