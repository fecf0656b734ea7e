package export

import (
	"hash/fnv"
	"html"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// formulaStamp identifies the formulas of a workbook. It does not depend on
// the order in which they are read, nor on how a spreadsheet lays them out when
// it saves them.
type formulaStamp uint64

// add takes the formula of one field; tab is the number of its tab, from 1.
func (s *formulaStamp) add(tab int, ref, formula string) {
	plain := plainFormula(formula, 0, 0)
	if plain == "TRUE" || plain == "FALSE" {
		return // LibreOffice saves an entered truth so
	}
	h := fnv.New64a()
	_, _ = h.Write([]byte(strconv.Itoa(tab) + "!" + ref + "=" + plain))
	*s += formulaStamp(h.Sum64())
}

// String writes the stamp as the workbook's property holds it.
func (s formulaStamp) String() string { return strconv.FormatUint(uint64(s), 16) }

// stampProperty holds the stamp; stampMark is there until all formulas
// are written.
const (
	stampProperty = "Formulas"
	stampMark     = "the stamp of the formulas"
	customPart    = "docProps/custom.xml"
)

// addCell takes the formula of a field that is being written.
func (s *formulaStamp) addCell(part string, head, formula []byte) {
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimPrefix(part, "xl/worksheets/sheet"), ".xml"))
	if err != nil {
		return
	}
	s.add(n, reference(head), html.UnescapeString(string(formula)))
}

// stamp returns the stamp of the formulas that a workbook holds now.
func (o *opened) stamp() formulaStamp {
	var s formulaStamp
	for i, t := range o.tabs {
		for ref, c := range t.fields {
			if c.formula != "" {
				s.add(i+1, ref, c.formula)
			}
		}
	}
	return s
}

var (
	cellName = regexp.MustCompile(`^(\$?)([A-Za-z]{1,3})(\$?)([0-9]{1,7})$`)
	truthful = strings.NewReplacer("TRUE()", "TRUE", "FALSE()", "FALSE")
)

// plainFormula returns a formula in one way of writing it: without spaces,
// numbers to nine digits, names of tabs in quotes, references moved by so many
// columns and rows.
func plainFormula(formula string, columns, rows int) string {
	var b strings.Builder
	for s := formula; s != ""; {
		var n int
		switch r, size := utf8.DecodeRuneInString(s); {
		case r == '"' || r == '\'':
			n = quotedLength(s, byte(r))
			b.WriteString(s[:n])
		case r >= '0' && r <= '9' || r == '.':
			n = numberLength(s)
			if v, err := strconv.ParseFloat(s[:n], 64); err == nil {
				b.WriteString(strconv.FormatFloat(v, 'g', 9, 64))
			} else {
				b.WriteString(s[:n])
			}
		case isWord(r):
			n = wordLength(s)
			b.WriteString(plainWord(s[:n], s[n:], columns, rows))
		case unicode.IsSpace(r):
			n = size
		default:
			n = size
			b.WriteString(s[:n])
		}
		s = s[n:]
	}
	return truthful.Replace(b.String())
}

func isWord(r rune) bool {
	return r == '_' || r == '$' || r == '\\' || r == '#' || unicode.IsLetter(r)
}

func wordLength(s string) int {
	for i, r := range s {
		if !isWord(r) && r != '.' && !unicode.IsDigit(r) {
			return i
		}
	}
	return len(s)
}

// quotedLength returns the length of a quoted text, doubled quotes in it
// included.
func quotedLength(s string, quote byte) int {
	for i := 1; i < len(s); i++ {
		if s[i] != quote {
			continue
		}
		if i+1 >= len(s) || s[i+1] != quote {
			return i + 1
		}
		i++
	}
	return len(s)
}

func numberLength(s string) int {
	n := 0
	digits := func() {
		for n < len(s) && (s[n] >= '0' && s[n] <= '9' || s[n] == '.') {
			n++
		}
	}
	digits()
	if n < len(s) && (s[n] == 'E' || s[n] == 'e') {
		mantissa := n
		n++
		if n < len(s) && (s[n] == '+' || s[n] == '-') {
			n++
		}
		exponent := n
		if digits(); n == exponent {
			n = mantissa
		}
	}
	return n
}

// plainWord writes a word in one way; rest is what follows it.
func plainWord(word, rest string, columns, rows int) string {
	switch {
	case strings.HasPrefix(rest, "!"):
		return "'" + word + "'"
	case strings.HasPrefix(rest, "("):
		return strings.TrimPrefix(strings.ToUpper(word), "_XLFN.")
	}
	part := cellName.FindStringSubmatch(word)
	if part == nil {
		return strings.ToUpper(word) // names differ in more than their case
	}
	return moved(part, columns, rows)
}

// moved writes a reference, moved.
func moved(part []string, columns, rows int) string {
	column, err := excelize.ColumnNameToNumber(part[2])
	row, err2 := strconv.Atoi(part[4])
	if err != nil || err2 != nil {
		return part[0]
	}
	if part[1] == "" {
		column += columns
	}
	if part[3] == "" {
		row += rows
	}
	if column < 1 || row < 1 {
		return "#REF!"
	}
	return part[1] + letters(column) + part[3] + strconv.Itoa(row)
}
