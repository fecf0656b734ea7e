package unit

// MismatchText tells why left and right do not go together.
func (s *System) MismatchText(what string, left, right Measure, leftName, rightName string) (message, help string) {
	if what != "" {
		what += ": "
	}
	return what + leftName + " is " + s.Describe(left) + "; " + rightName + " is " + s.Describe(right), ""
}
