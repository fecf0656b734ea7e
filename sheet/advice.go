package sheet

// Advice returns the state of the advice with this index in Model.Advices and,
// for one on a column, the first row that breaks it, counted from 0. The state
// of an advice that does not hold is Advised.
func (r *Result) Advice(index int) (LimitState, int) {
	v := r.machine.Advice(index)
	switch {
	case v.Value != v.Value:
		return Waiting, v.Row
	case v.Value != 0:
		return Kept, 0
	}
	return Advised, v.Row
}
