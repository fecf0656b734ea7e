package runlog

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
)

// Head is one column as the file names it.
type Head struct {
	Text string // unchanged: "Engine [rpm]"
	Name string // without its unit: "Engine"
	Unit string // from brackets or from a row of units; empty if there is none
}

// Layout is the layout of a file.
type Layout struct {
	Delimiter byte
	Point     byte // before the decimals of a number
	Heads     []Head
	HeadLine  int // counted from 1
	UnitLine  int // 0 if no row of units is below the head
	FirstLine int // of the rows
}

// Mistake is why a file cannot be used, and the place.
type Mistake struct {
	File    string
	Line    int // 0 for none
	Message string
	Help    string // the remedy; empty if Message is enough
}

// Error returns place, message and help.
func (m *Mistake) Error() string {
	if m.Help != "" {
		return m.Located() + "; " + m.Help
	}
	return m.Located()
}

// Located returns place and message.
func (m *Mistake) Located() string {
	if m.Line > 0 {
		return fmt.Sprintf("%s:%d: %s", m.File, m.Line, m.Message)
	}
	return m.File + ": " + m.Message
}

// The numbers of bytes and lines of a file that are read to find its layout.
const (
	sampled      = 256 << 10
	sampledLines = 400
)

// findLayout finds the layout of the file that begins with sample; whole says
// that the sample is all of it.
func findLayout(name string, sample []byte, whole bool) (Layout, error) {
	fail := func(line int, message, help string) (Layout, error) {
		return Layout{}, &Mistake{name, line, message, help}
	}
	switch {
	case len(bytes.TrimSpace(sample)) == 0:
		return fail(0, "the file is empty", "")
	case bytes.IndexByte(sample, 0) >= 0:
		return fail(0, "the file is not text", "export the log as CSV")
	}
	lines := cutLines(sample, whole)
	best := choice{}
	for _, delimiter := range []byte{';', '\t', ','} {
		for _, point := range []byte{'.', ','} {
			if c := weigh(lines, delimiter, point); c.weight > best.weight {
				best = c
			}
		}
	}
	if best.weight == 0 {
		return fail(1, "no rows of numbers are found, separated by commas, semicolons or tabs", "a log is a head with the columns' names, then a row of numbers for every sample")
	}
	if doubt := best.doubt(lines); doubt != "" {
		return fail(best.first+1, doubtMessage(doubt), doubtHelp)
	}
	return best.layout(name, lines)
}

// cutLines returns the first lines of sample; the last one only if it is
// known to be whole.
func cutLines(sample []byte, whole bool) [][]byte {
	lines := bytes.SplitN(sample, []byte{'\n'}, sampledLines+1)
	if len(lines) > sampledLines || !whole && len(lines) > 1 {
		lines = lines[:len(lines)-1]
	}
	for i := range lines {
		lines[i] = bytes.TrimRight(lines[i], "\r")
	}
	return lines
}

// choice is a way to read lines, with its score.
type choice struct {
	delimiter, point byte
	fields           int // of most rows
	first            int // index of the first row of numbers
	weight           int
}

// weigh counts the numbers of the lines with this reading.
func weigh(lines [][]byte, delimiter, point byte) choice {
	c := choice{delimiter: delimiter, point: point, first: -1}
	counts := map[int]int{}
	for _, line := range lines {
		if fields := splitFields(line, delimiter); numeric(fields, point) {
			counts[len(fields)]++
		}
	}
	most := 0
	for n, times := range counts {
		if n >= 2 && (times > most || times == most && n > c.fields) {
			c.fields, most = n, times
		}
	}
	if most == 0 {
		return c
	}
	for i, line := range lines {
		fields := splitFields(line, delimiter)
		if len(fields) != c.fields || !numeric(fields, point) {
			continue
		}
		if c.first < 0 {
			c.first = i
		}
		for _, f := range fields {
			if _, ok := parseNumber(f, point); ok {
				c.weight++
			}
		}
	}
	return c
}

// doubt returns a number of lines in which commas separate the columns and occur
// in numbers, every one of which may have a thousands separator.
func (c choice) doubt(lines [][]byte) string {
	if c.delimiter != ',' || c.point != ',' {
		return ""
	}
	first := ""
	for _, line := range lines[c.first:] {
		for _, f := range splitFields(line, c.delimiter) {
			if bytes.IndexByte(f, ',') < 0 {
				continue
			}
			if !thousands(f) {
				return ""
			}
			first = cmp.Or(first, string(f))
		}
	}
	return first
}

func doubtMessage(number string) string {
	return fmt.Sprintf("%q may have decimals or be a whole number with a thousands separator: nothing in the file says which", number)
}

const doubtHelp = "save it without thousands separators, or with semicolons between the columns"

// numeric reports whether most non-empty fields hold a number.
func numeric(fields [][]byte, point byte) bool {
	numbers, words := 0, 0
	for _, f := range fields {
		if isBlank(f) {
			continue
		}
		_, ok := parseNumber(f, point)
		if !ok {
			_, ok = parseClock(f, point)
		}
		if ok {
			numbers++
		} else {
			words++
		}
	}
	return numbers > words
}

// splitFields splits a line at its delimiters, without quotes and blanks around
// fields.
func splitFields(line []byte, delimiter byte) [][]byte {
	var out [][]byte
	for {
		field, rest, more := nextField(line, delimiter)
		out = append(out, field)
		if !more {
			return out
		}
		line = rest
	}
}

// nextField splits the first field off line.
func nextField(line []byte, delimiter byte) (field, rest []byte, more bool) {
	if at := bytes.IndexByte(line, delimiter); at >= 0 {
		field, rest, more = line[:at], line[at+1:], true
	} else {
		field = line
	}
	field = trim(field)
	if len(field) == 0 || field[0] != '"' {
		return field, rest, more
	}
	return quotedField(line, delimiter)
}

// quotedField splits off a field that begins with a quote.
func quotedField(line []byte, delimiter byte) (field, rest []byte, more bool) {
	at := bytes.IndexByte(line, '"') + 1
	for {
		n := bytes.IndexByte(line[at:], '"')
		if n < 0 {
			return append(field, line[at:]...), nil, false // the quote is not closed
		}
		field = append(field, line[at:at+n]...)
		at += n + 1
		if at >= len(line) || line[at] != '"' {
			break
		}
		field, at = append(field, '"'), at+1
	}
	if n := bytes.IndexByte(line[at:], delimiter); n >= 0 {
		return trim(field), line[at+n+1:], true
	}
	return trim(field), nil, false
}

// trim removes blanks at both ends.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t' || b[len(b)-1] == '\r') {
		b = b[:len(b)-1]
	}
	return b
}

// layout finds the head above the first row of numbers.
func (c choice) layout(name string, lines [][]byte) (Layout, error) {
	out := Layout{Delimiter: c.delimiter, Point: c.point, FirstLine: c.first + 1}
	var above [][][]byte // the lines directly above with as many fields, nearest first
	for i := c.first - 1; i >= 0 && len(above) < 2; i-- {
		fields := splitFields(lines[i], c.delimiter)
		if len(fields) != c.fields || numeric(fields, c.point) {
			break
		}
		above = append(above, fields)
	}
	switch {
	case len(above) == 0:
		return out, c.noHead(name, lines)
	case len(above) == 2 && isUnits(above[0]):
		out.HeadLine, out.UnitLine = c.first-1, c.first
		out.Heads = heads(above[1], above[0])
	default:
		out.HeadLine = c.first
		out.Heads = heads(above[0], nil)
	}
	return out, nil
}

// noHead describes why there is no head above the first row of numbers.
func (c choice) noHead(name string, lines [][]byte) error {
	if c.first == 0 {
		return &Mistake{name, 1, "the first line holds numbers already: no head names the columns", "have the logger save the head, too"}
	}
	n := len(splitFields(lines[c.first-1], c.delimiter))
	message := fmt.Sprintf("the head above has %d columns, and this line has %d fields", n, c.fields)
	if c.delimiter == ',' && c.fields > n && c.fields <= 2*n {
		return &Mistake{name, c.first + 1, message, "decimal commas cannot be distinguished from the commas between columns: have the logger save with semicolons, or with decimal points"}
	}
	return &Mistake{name, c.first + 1, message, ""}
}

// isUnits reports whether a line is a row of units: most of its words are.
func isUnits(fields [][]byte) bool {
	filled, known := 0, 0
	for _, f := range fields {
		if isBlank(f) {
			continue
		}
		filled++
		if word := string(f); strings.Trim(word, "[](){}") != word || SpellUnit(word) != "" {
			known++
		}
	}
	return filled > 0 && 2*known >= filled
}

// heads reads the names of columns and their units.
func heads(names, units [][]byte) []Head {
	out := make([]Head, len(names))
	for i, n := range names {
		out[i] = ReadHead(string(n))
		if units != nil {
			out[i].Unit = unbracketed(string(units[i]))
		}
	}
	return out
}

// ReadHead splits "Engine [rpm]", "GPS speed (km/h)", "MAP/kPa" and "Engine
// rpm" into name and unit. Without brackets the unit must not be a word with
// another meaning.
func ReadHead(text string) Head {
	h := Head{Text: text, Name: text}
	for _, pair := range []string{"[]", "()", "{}"} {
		if strings.HasSuffix(text, pair[1:]) {
			if at := strings.LastIndex(text, pair[:1]); at > 0 {
				h.Name = strings.TrimRight(text[:at], " /")
				h.Unit = strings.TrimSpace(text[at+1 : len(text)-1])
				return h
			}
		}
	}
	if at := strings.LastIndexByte(text, ' '); at > 0 && plainUnit(text[at+1:]) {
		h.Name, h.Unit = strings.TrimSpace(text[:at]), text[at+1:]
		return h
	}
	if name, u, one := strings.Cut(text, "/"); one && len(name) > 0 && !strings.ContainsAny(u, "/ ") && !plainUnit(text) && slashUnit(u) {
		h.Name, h.Unit = name, u
	}
	return h
}

// Suffix returns the unit that the last word of a head without brackets may be,
// as in time_ms or oil_temp_F, or nothing. In and min have another meaning
// there.
func (h Head) Suffix() string {
	at := strings.LastIndexByte(h.Text, '_')
	if at <= 0 || h.Unit != "" {
		return ""
	}
	switch u := SpellUnit(h.Text[at+1:]); u {
	case unitless, "in", "min":
		return ""
	default:
		return u
	}
}

// plainUnit reports whether a word of a head is a unit and no other word: no
// single letter, and no word such as in or min.
func plainUnit(word string) bool {
	if strings.ContainsAny(word, "%°") {
		return SpellUnit(word) != ""
	}
	switch u := SpellUnit(word); {
	case u == "", u == unitless, len(word) < 3:
		return false
	default:
		return u != "min" && u != "us"
	}
}

// slashUnit reports whether the word after a slash is a unit: in A/F it is not.
func slashUnit(word string) bool {
	u := SpellUnit(word)
	return u != "" && u != unitless && word != "F" && word != "C" && word != "f" && word != "c"
}

// DelimiterName names the character between the columns.
func (l Layout) DelimiterName() string {
	switch l.Delimiter {
	case ';':
		return "semicolons"
	case '\t':
		return "tabs"
	}
	return "commas"
}
