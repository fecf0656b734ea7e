package unit

// DifferenceUnit returns the unit of the difference of two values in u: deltaF of
// degF, psid of psig and of psia. Of a measure without kinds it is u itself.
func (u Unit) DifferenceUnit() Unit {
	if u.Measure.Kind != Absolute && u.Measure.Kind != Relative {
		return u
	}
	want := u.Measure
	want.Kind = Relative
	for _, symbol := range differenceSymbols(u.Symbol) {
		if row := known[symbol]; row != nil && row.Unit.Scale == u.Scale && row.Unit.Measure == want {
			return row.Unit
		}
	}
	u.Offset, u.Measure = 0, want
	return u
}

// differenceSymbols returns what the difference of a unit may be called: psid for
// psia and psig, kPad for kPa, deltaC for degC.
func differenceSymbols(symbol string) []string {
	all := []string{symbol + "d"}
	if n := len(symbol); n > 3 {
		all = append(all, symbol[:n-1]+"d", "delta"+symbol[3:])
	}
	return all
}
