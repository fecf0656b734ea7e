package page

// Scripts returns the script as pages carry it, unpacked.
func Scripts() string { return scripts() }
