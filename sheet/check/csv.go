package check

// CSV is a table's file, split into fields.
type CSV struct {
	Name  string // for messages
	Heads []Head
	Rows  int
	// Line returns the line in the file at which a row starts.
	Line func(row int) int
	// Each calls f with the fields of every row, one for each head, until it
	// returns false. The fields are f's until it returns.
	Each func(f func(row int, fields [][]byte) bool)
	// Number reads a number as the file writes it; Blank reports whether a
	// field in a column of numbers means no value.
	Number func(field []byte) (float64, bool)
	Blank  func(field []byte) bool
	// Doubts are problems in lines of a file that is read nevertheless.
	Doubts []string
}

// Head is the head of a column of a file.
type Head struct {
	Text string // the whole head: "Engine [rpm]"
	Name string // without the unit
	Unit string // as the file writes it, "" for none
	// Spelled is the unit in the spelling of worksheets, "1" for a plain
	// number, "" for a word that is not a known unit.
	Spelled string
	// Suffix is the unit that the last word of a head without another unit may
	// be, as in time_ms, in the spelling of worksheets.
	Suffix string
}

// CSVError is a mistake in a table's file or in the sheet's reference to it: it
// stops the computation. Any other error of Input.CSV means that the file could
// not be read, which is a fault of the table.
type CSVError struct{ Message, Help string }

// Error returns the message.
func (e CSVError) Error() string { return e.Message }
