package check

// CSV is a table's file, read but not yet understood.
type CSV struct {
	Name string   // for messages
	Head []string // the first record
	Rows [][]string
	// Lines is the line in the file at which each row starts.
	Lines []int
}

// CSVError is a mistake in a table's file or in how the sheet asks for it: it
// stops the computation. Any other error of Input.CSV means that the file
// could not be read, which is a fault of the table.
type CSVError struct {
	Line    int // in the file; 0 for none
	Message string
}

// Error returns the message.
func (e CSVError) Error() string { return e.Message }
