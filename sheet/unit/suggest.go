package unit

// suggest adds to err what text was probably meant to be.
func (s *System) suggest(err *ParseError, text string) {}
