package unit

import (
	"maps"
	"slices"
	"strings"
)

// The codes of a ParseError.
const (
	CodeUnknown   = "unit-unknown"
	CodeAmbiguous = "unit-ambiguous"
	CodeSyntax    = "unit-syntax"
	CodeKind      = "unit-kind-in-compound"
	CodeExponent  = "unit-exponent"
	CodeSlots     = "unit-slots"
	CodeTaken     = "unit-taken"
)

// ParseError describes why a text is not a unit.
type ParseError struct {
	Code string
	// Message describes the error; Help is the correction, or empty.
	Message, Help string
	// Repairs are texts, each of which can replace the whole unit.
	Repairs []string
	// At and Len are the bytes of the text that have the error.
	At, Len int
}

// Error returns the message.
func (e *ParseError) Error() string { return e.Message }

// System is the set of units of one sheet: the catalogue, its declarations, and
// the dimensions of its own used so far. It is not safe for concurrent use.
type System struct {
	own    map[string]Unit // declared units and dimensions of its own
	slots  []string        // names of the dimensions of its own
	parsed map[string]Unit
	failed map[string]*ParseError
}

// maxCached bounds the number of texts that a System caches, valid or not.
const maxCached = 4096

// NewSystem returns a System with the units of the catalogue.
func NewSystem() *System {
	return &System{
		own:    map[string]Unit{},
		parsed: map[string]Unit{},
		failed: map[string]*ParseError{},
	}
}

// Parse returns the unit that text names: a symbol, or a compound such as
// kg/m3, lb/(hp.h) or ft.lbf. Its Symbol is text.
func (s *System) Parse(text string) (Unit, *ParseError) {
	if u, ok := s.parsed[text]; ok {
		return u, nil
	}
	if err, ok := s.failed[text]; ok {
		return Unit{}, err
	}
	u, err := s.parse(text)
	switch {
	case err == nil && len(s.parsed) < maxCached:
		s.parsed[strings.Clone(text)] = u
	case err != nil && len(s.failed) < maxCached:
		s.failed[strings.Clone(text)] = err
	}
	return u, err
}

// ParseIn is Parse that tries names before symbols: in price/life each word may
// name a value, whose unit is then used.
func (s *System) ParseIn(text string, names func(string) (Unit, bool)) (Unit, *ParseError) {
	return s.parseNamed(text, names)
}

// Declare makes name a unit of the sheet: of a dimension of its own if value is
// nil, otherwise the same as value, which Unit.Times makes. It may define an
// ambiguous symbol (psi), but not change one that has a meaning; repeating a
// declaration is not an error.
func (s *System) Declare(name string, value *Unit) *ParseError {
	if err := s.declarable(name, value); err != nil {
		return err
	}
	clear(s.failed)
	clear(s.parsed)
	if value == nil {
		_, err := s.slot(name)
		return err
	}
	u := *value
	u.Symbol = name
	s.own[name] = u
	return nil
}

// declarable returns why name cannot be declared as value.
func (s *System) declarable(name string, value *Unit) *ParseError {
	fail := func(code, message, help string) *ParseError {
		return &ParseError{Code: code, Message: message, Help: help, Len: len(name)}
	}
	if !isName(name) {
		return fail(CodeSyntax, "a unit's name is letters, as plug or big_end, and does not end in a digit",
			"a digit after a unit is a power: m2")
	}
	if value != nil && !value.sound() {
		return fail(CodeSyntax, "the size of "+name+" must be above zero and within 1e-290 and 1e290", "")
	}
	old, declared := s.own[name]
	row, listed := known[name]
	switch {
	case value == nil && (slices.Contains(s.slots, name) || listed && row.Own):
		return nil
	case declared && value != nil && old.like(*value):
		return nil
	case declared && !listed:
		return fail(CodeTaken, name+" is already a unit of this sheet", "give the new unit another name")
	case declared && row.Asks != nil:
		return fail(CodeTaken, name+" already has another meaning in this sheet", "keep one of the two lines")
	case listed && row.Asks == nil:
		return fail(CodeTaken, name+" is already a unit: "+row.Meaning, "give the new unit another name")
	}
	return nil
}

// like reports whether u and v mean the same, regardless of their names.
func (u Unit) like(v Unit) bool {
	u.Symbol = v.Symbol
	return u == v
}

// isName reports whether name can be declared.
func isName(name string) bool {
	for i := 0; i < len(name); i++ {
		if !isWord(name[i]) || name[i] == '%' || name[i] >= 0x80 {
			return false
		}
	}
	return name != "" && !isDigit(name[0]) && !isDigit(name[len(name)-1]) && len(name) <= maxName
}

// slot adds a dimension of the sheet's own.
func (s *System) slot(name string) (Unit, *ParseError) {
	if u, ok := s.own[name]; ok {
		return u, nil
	}
	if len(s.slots) == Slots {
		return Unit{}, &ParseError{
			Code:    CodeSlots,
			Message: "a sheet has at most eight dimensions of its own, and this one has them: " + strings.Join(s.slots, ", "),
			Help:    "count " + name + " in one of these, or as a plain number",
			Len:     len(name),
		}
	}
	u := Unit{Symbol: name, Scale: 1}
	u.Measure.Dim[Slot0+len(s.slots)] = Exponent{Num: 1}
	s.slots = append(s.slots, name)
	s.own[name] = u
	return u, nil
}

// declared returns the names of units of the sheet's own, in order.
func (s *System) declared() []string { return slices.Sorted(maps.Keys(s.own)) }
