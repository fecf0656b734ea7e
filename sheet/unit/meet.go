package unit

// Problem is why two values are incompatible; "" is not a problem.
type Problem string

// The problems of values that are combined; the first that applies is reported.
const (
	DimensionsDiffer Problem = "dimensions differ"
	CountsDiffer     Problem = "counts differ"
	KindsDiffer      Problem = "kinds differ"
)

// Meets reports why values of a and b may not be compared, replace each other or
// be in two branches: dimensions must be equal, counts equal or absent on one
// side, and a point is incompatible with a difference.
func Meets(a, b Measure) Problem {
	switch {
	case a.Dim != b.Dim:
		return DimensionsDiffer
	case !a.Counts.meet(b.Counts):
		return CountsDiffer
	}
	if _, problem := MeetKind(a.Kind, b.Kind); problem != "" {
		return KindsDiffer
	}
	return ""
}

// meet reports whether the counts that both have are equal and at most one of
// them has counts that the other lacks.
func (c Counts) meet(d Counts) bool {
	more, less := false, false
	for i := range c {
		switch {
		case c[i] == d[i]:
		case d[i].Num == 0:
			more = true
		case c[i].Num == 0:
			less = true
		default:
			return false
		}
	}
	return !more || !less
}

// Join returns the measure of the result of combining a and b, which meet: min,
// max, the branches of an if. Counts are kept. The kind is that of MeetKind; a
// sum or difference takes its kind from AddKind or SubKind instead.
func Join(a, b Measure) Measure {
	for i, e := range b.Counts {
		if a.Counts[i].Num == 0 {
			a.Counts[i] = e
		}
	}
	a.Kind, _ = MeetKind(a.Kind, b.Kind)
	return a
}
