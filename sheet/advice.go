package sheet

// Advice returns how the advice with this index in Model.Advices stands, and
// for one on a column the first row that breaks it, counted from 0. An advice
// that is not kept is Advised.
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
