package diag

// The codes of reading files. Their examples need files, so scripts of the
// command test them.
const (
	LoadUnreadable Code = "load-unreadable" // the file cannot be read
	LoadTooLarge   Code = "load-too-large"  // the file is over the bound
	LoadNotText    Code = "load-not-text"   // the file is not UTF-8
	LoadCutOff     Code = "load-cut-off"    // a kill has interrupted a write of the file
	LoadOutside    Code = "load-outside"    // a path leaves the first sheet's folder
	LoadCycle      Code = "load-cycle"      // worksheets use each other in a cycle
	LoadTooMany    Code = "load-too-many"   // too many or too deep uses
)

// SetRefused is a `name=quantity` that cannot be set.
const SetRefused Code = "set-refused"
