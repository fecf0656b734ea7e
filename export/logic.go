package export

import (
	"regexp"
	"strings"
)

// both returns the conjunction of two conditions. The second is evaluated only
// if the first is true, as in the language.
func (p *printer) both(x, y term) term {
	switch {
	case x.text == y.text || y.text == "TRUE":
		return x
	case x.text == "TRUE":
		return y
	case together(x, y):
		return joinedBy("AND", x, y)
	}
	r := p.branch(x, y, plainTerm("FALSE", atom))
	if text := underOne(x.text, y.text); text != "" && len(r.guards) == 0 {
		r.text = text
	}
	return r
}

// underOne returns the conjunction of IF(c,x,TRUE) and IF(c,y,TRUE), with the
// condition c once; empty if the two have another form.
func underOne(x, y string) string {
	cond, one := onlyUnder(x)
	same, two := onlyUnder(y)
	if cond == "" || cond != same {
		return ""
	}
	return "IF(" + cond + ",IF(" + one + "," + two + ",FALSE),TRUE)"
}

// onlyUnder returns c and x of IF(c,x,TRUE).
func onlyUnder(text string) (cond, then string) {
	rest, ok := strings.CutPrefix(text, "IF(")
	if !ok {
		return "", ""
	}
	cond = argument(rest)
	if len(cond) == len(rest) {
		return "", ""
	}
	then = argument(rest[len(cond)+1:])
	if rest[len(cond)+1+len(then):] != ",TRUE)" {
		return "", ""
	}
	return cond, then
}

// argument returns the part of a text before the first comma or closing bracket
// that is outside brackets and quotes.
func argument(s string) string {
	depth := 0
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '"' || c == '\'':
			i += quotedLength(s[i:], c) - 1
		case c == '(':
			depth++
		case depth == 0 && (c == ')' || c == ','):
			return s[:i]
		case c == ')':
			depth--
		}
	}
	return s
}

// either returns the disjunction of two conditions. The second is evaluated
// only if the first is false.
func (p *printer) either(x, y term) term {
	switch {
	case x.text == y.text || y.text == "FALSE":
		return x
	case x.text == "FALSE":
		return y
	case together(x, y):
		return joinedBy("OR", x, y)
	}
	return p.branch(x, plainTerm("TRUE", atom), y)
}

// joinedBy joins conditions by a function; those of a call of the same function
// become arguments of one call.
func joinedBy(function string, x, y term) term {
	r := term{bind: atom}.carry(x, y)
	r.text = function + "(" + inner(function, x.text) + "," + inner(function, y.text) + ")"
	return r
}

// inner returns the arguments of a text that is one call of a function, else the
// text.
func inner(function, text string) string {
	rest, ok := strings.CutPrefix(text, function+"(")
	if !ok {
		return text
	}
	depth := 1
	for i := range len(rest) {
		switch rest[i] {
		case '(':
			depth++
		case ')':
			depth--
		case '"':
			return text
		}
		if depth == 0 {
			if i == len(rest)-1 {
				return rest[:i]
			}
			return text
		}
	}
	return text
}

// together reports whether two conditions can be computed together: the second
// is a fault or blank only if the first is. That is certain if it reads nothing
// else, and only adds and compares.
func together(x, y term) bool {
	if len(y.guards) > 0 && len(y.guards) != len(x.guards) {
		return false
	}
	for i, g := range y.guards {
		if x.guards[i] != g {
			return false
		}
	}
	if !y.risky {
		return plainly(y.text)
	}
	known := map[string]bool{}
	for _, ref := range readBy(x.text) {
		known[ref] = true
	}
	for _, ref := range readBy(y.text) {
		if !known[ref] {
			return false
		}
	}
	return plainly(x.text) && plainly(y.text)
}

var (
	// faultless are the parts of a condition that cannot be faults if their
	// operands are not.
	faultless = regexp.MustCompile(`\*\(1[+-]1E-12\)|\*1E-12|ABS\(|AND\(|OR\(|NOT\(`)
	reading   = regexp.MustCompile("\x01[^\x01]*\x01[$A-Za-z0-9\x02-\x04]+|[$A-Za-z_][$A-Za-z0-9_.]*[\x02-\x04]?")
)

// plainly reports whether a condition only adds and compares.
func plainly(text string) bool {
	rest := faultless.ReplaceAllString(text, "")
	return !strings.ContainsAny(rest, `*/^(&"`)
}

// readBy returns the cells that a condition reads.
func readBy(text string) []string {
	return reading.FindAllString(faultless.ReplaceAllString(text, ""), -1)
}
