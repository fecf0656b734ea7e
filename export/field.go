package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// fieldReader takes the givens' values from their fields.
type fieldReader struct {
	book    *opened
	s       *sheet.Sheet
	survey  *survey
	entries []Entry
	typed   [][2]string // tab and place of fields that hold a formula
	united  bool        // the entry being read has a unit
}

// read takes every given whose field holds another value than the text, if the
// fields are where they can be read.
func (in *fieldReader) read() {
	fields := in.survey.fields
	if len(in.survey.problems) > 0 {
		return
	}
	for _, c := range in.s.Model.Cells {
		if len(fields) > 0 && c.Given && !c.Plugged {
			in.field(fields[0], sheet.Place{Cell: c}, c.Value)
			fields = fields[1:]
		}
	}
	for _, t := range in.s.Model.Tables {
		for _, c := range t.Columns {
			if !c.Given || t.Library || t.From != "" {
				continue
			}
			boxes := ticked(in.s.Model, c)
			for row, v := range c.Values {
				if len(fields) == 0 {
					break
				}
				if !boxes {
					in.field(fields[0], sheet.Place{Column: c, Row: row}, v)
				}
				fields = fields[1:]
			}
		}
	}
}

// field takes the value of the place p from its field; the text has v there.
func (in *fieldReader) field(f givenField, p sheet.Place, v float64) {
	tab, cell, ok := in.survey.locate(f)
	if !ok {
		return // the survey has reported why
	}
	c := in.book.tab(tab)[cell]
	if c.formula != "" {
		in.typed = append(in.typed, [2]string{tab, cell})
	}
	if in.same(p.Quantity(), v, c) {
		return
	}
	if strings.ContainsFunc(c.formula, unicode.IsLetter) && formOf(c.formula, 1, 1) != 0 {
		in.survey.notef("%s!%s: %s holds the formula =%s, of which the value is read", tab, cell, p.Name(), cutRunes(c.formula, 60))
	}
	e := Entry{Place: p, Tab: tab, Field: cell}
	in.take(&e, v, c)
	if q := e.Place.Quantity(); c.isText() && q.Type.Form == check.Number && e.Refused == "" && fifteen(q.Unit.Clean(e.Setting.Value)) == fifteen(q.Unit.Clean(v)) {
		in.survey.notef("%s!%s: %s is the text %q, not a number: read as the %s it was", tab, cell, p.Name(), c.value, in.s.Text(q, v))
		return
	}
	in.entries = append(in.entries, e)
}

// take reads the content of a field into an entry.
func (in *fieldReader) take(e *Entry, old float64, c content) {
	q, name := e.Place.Quantity(), e.Place.Name()
	switch {
	case c.kind == "e":
		e.Refused = name + " holds an error, " + c.value
	case c.value == "" && c.formula != "":
		e.Refused = name + " holds a formula without its value: open the workbook in a spreadsheet program, and save it"
	case c.value == "":
		e.Refused = name + " is empty; it needs a value"
		if merged := in.book.called(e.Tab).mergedWith(e.Field); merged != "" {
			e.Refused = fmt.Sprintf("%s is empty, because its cell was merged into %s: undo that, and enter the value again", name, merged)
		}
	case c.kind == "d":
		e.Refused = name + " holds a date, " + c.value + "; " + in.expected(q) + " was expected"
	case c.kind == "b" && q.Type.Form != check.Truth:
		e.Refused = name + " holds a logical value, " + strings.ToUpper(strconv.FormatBool(isTrue(c))) + "; " + in.expected(q) + " was expected"
	case q.Type.Form == check.Number && !c.isText():
		in.takeNumber(e, old, c)
	case q.Type.Form == check.Number:
		in.takeText(e, old, c.value)
	case q.Type.Form == check.Truth:
		in.takeTruth(e, c)
	default:
		in.takeWords(e, c)
	}
}

// takeTruth reads yes or no.
func (in *fieldReader) takeTruth(e *Entry, c content) {
	c.value = strings.TrimSpace(sameBlanks(c.value))
	switch {
	case isTrue(c) && !isFalse(c):
		in.set(e, yesWord)
	case isFalse(c):
		in.set(e, noWord)
	default:
		e.Refused = fmt.Sprintf("%s holds %q; yes or no was expected", e.Place.Name(), c.value)
	}
}

// takeWords reads the field of a text. A date or a percentage is refused,
// because its content differs from the shown text.
func (in *fieldReader) takeWords(e *Entry, c content) {
	name, shown := e.Place.Name(), ""
	if number, err := strconv.ParseFloat(c.value, 64); err == nil && !c.isText() {
		switch c.format {
		case dateNumber, timeNumber:
			shown = dateText(number, c.format)
		case percentNumber:
			shown = "a percentage, " + typedNumber(trimmed(number*100)) + " %"
		}
	}
	if shown != "" {
		e.Refused = name + " holds " + shown + "; a text was expected: give the cell the format of a text, and enter it again"
		return
	}
	text := c.value
	if i := strings.IndexFunc(text, func(r rune) bool { return r < ' ' && r != '\t' }); i >= 0 {
		what := fmt.Sprintf("a control character, %q", text[i])
		if text[i] == '\n' || text[i] == '\r' {
			what = "a line break"
		}
		e.Refused = fmt.Sprintf("%s holds %s in %q; a text of one line was expected", name, what, cutRunes(text, 60))
		return
	}
	if trimmed := strings.TrimSpace(text); len(e.Place.Quantity().Choice) > 0 {
		text = trimmed
	}
	in.set(e, syntax.Quote(text))
}

// set reads a value in the notation of the worksheet.
func (in *fieldReader) set(e *Entry, text string) {
	set, d := in.s.ParseSetting(e.Place.Name() + "=" + text)
	e.Setting, e.text = set, text
	if d != nil {
		e.Refused = d.Message
	}
}

// takeText reads a text in the field of a number: a quantity with its unit, or
// a number that was entered as text.
func (in *fieldReader) takeText(e *Entry, old float64, text string) {
	q, name := e.Place.Quantity(), e.Place.Name()
	plain := strings.TrimSpace(strings.TrimPrefix(sameBlanks(text), "'")) // the sign of a text, which some programs keep
	if isPercent(q.Unit) && strings.HasSuffix(plain, "%") {
		plain = strings.TrimSpace(strings.TrimRight(plain, "%")) // one that was typed beside the format's own
	}
	in.set(e, plain)
	if plain == "" || strings.HasPrefix(plain, "\"") || e.Refused != "" {
		e.Refused = fmt.Sprintf("%s holds the text %q; %s was expected", name, text, in.expected(q))
		return
	}
	in.united = strings.ContainsFunc(plain, unicode.IsLetter)
	in.doubt(e, shownUnit(q.Unit).Clean(e.Setting.Value), shownUnit(q.Unit).Clean(old))
	in.united = false
}

// sameBlanks replaces typographic blanks, minus signs and degrees, which a paste may
// contain, by those of a keyboard.
func sameBlanks(text string) string {
	return strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ", "\u2212", "-", "°C", "degC", "°F", "degF").Replace(text)
}

// expected describes the values of a given.
func (in *fieldReader) expected(q *check.Quantity) string {
	if q.Type.Form == check.Text {
		return "a text"
	}
	what := "a number"
	if q.Whole {
		what = "a whole number"
	}
	if symbol(q.Unit) != "" {
		what += " of " + symbol(q.Unit)
	}
	if q.Range != nil {
		u := shownUnit(q.Unit)
		what += " from " + literal(trimmed(u.Shown(q.Range[0]))) + " to " + literal(trimmed(u.Shown(q.Range[1])))
	}
	return what
}

// takeNumber reads a number. A date, a percentage of something else, and a
// number far from the old one are mistakes.
func (in *fieldReader) takeNumber(e *Entry, old float64, c content) {
	q, name := e.Place.Quantity(), e.Place.Name()
	number, err := strconv.ParseFloat(c.value, 64)
	percent := isPercent(q.Unit)
	v := trimmed(number / cellFactor(q.Unit))
	was := shownUnit(q.Unit).Clean(old)
	switch {
	case err != nil || number-number != 0:
		e.Refused = fmt.Sprintf("%s holds %q; %s was expected", name, c.value, in.expected(q))
		return
	case c.format == dateNumber || c.format == timeNumber:
		e.Refused = name + " holds " + dateText(number, c.format) + "; " + in.expected(q) + " was expected"
		return
	case c.format == percentNumber && !percent && symbol(q.Unit) != "":
		e.Refused = fmt.Sprintf("%s holds a percentage, %s %%; %s was expected", name, typedNumber(trimmed(number*100)), in.expected(q))
		return
	}
	in.set(e, typedNumber(v))
	switch {
	case e.Refused != "":
	case percent && c.format != percentNumber && !beyondReason(v, was):
		in.ask(e, "the cell has lost its percent format, and holds "+typedNumber(number), v, number)
	default:
		in.doubt(e, v, was)
	}
}

// doubt refuses a number, in the shown unit, that is far from the old one, and
// asks about one that differs as by a typing error: of a percentage, of the
// point or of the sign.
func (in *fieldReader) doubt(e *Entry, v, was float64) {
	q := e.Place.Quantity()
	percent := isPercent(q.Unit)
	ratio := math.Abs(v / was)
	what := e.Place.Name() + " holds " + quantityText(q, v)
	ask := func(other float64) { in.ask(e, what+" after "+quantityText(q, was), v, trimmed(other)) }
	switch {
	case beyondReason(v, was):
		e.Refused = what + ", far from the " + quantityText(q, was) + " it was"
	case perhapsDate(v, ratio):
		in.askText(e, what+" after "+quantityText(q, was), v, dateText(v, dateNumber))
	case slip(ratio) != 0:
		ask(v / slip(ratio))
	case slip(1/ratio) != 0:
		ask(v * slip(1/ratio))
	case movedPoint(v, was):
		ask(was)
	case percent && (ratio > 10 || v > 150 && ratio > 1.5) && in.likelier(q, v, v/100):
		ask(v / 100)
	case percent && ratio < 0.1 && in.likelier(q, v, v*100):
		ask(v * 100)
	case v == -was && v != 0, ratio > 0 && ratio < 1/farOff:
		ask(was)
	case in.united: // it is the one that is meant
	default:
		if other := otherUnit(in.s.Model, q, v, textValue(e.Place)); other != "" {
			in.askText(e, what+" after "+quantityText(q, was), v, typedNumber(v)+" "+other)
		} else if outOfReach(q, v) {
			ask(was)
		}
	}
}

// likelier reports whether another reading of a number in the shown unit may be
// meant: without a range always, otherwise if only the other reading is within
// it.
func (in *fieldReader) likelier(q *check.Quantity, v, other float64) bool {
	if q.Range == nil {
		return true
	}
	u := shownUnit(q.Unit)
	a, b := u.Clean(q.Range[0]), u.Clean(q.Range[1])
	inside := func(v float64) bool { return v >= min(a, b) && v <= max(a, b) }
	return !inside(v) && inside(other)
}

// slip returns the ratio of two numbers if it is about a hundred, as for a
// percentage, or a thousand, as for a thousands separator read as the point;
// otherwise 0.
func slip(ratio float64) float64 {
	for _, times := range []float64{100, 1000} {
		if ratio > 0.8*times && ratio < 1.25*times {
			return times
		}
	}
	return 0
}

// outOfReach reports whether a number in the shown unit is beyond five times its
// range: 10.9, a meter's reading, where lambda was expected.
func outOfReach(q *check.Quantity, v float64) bool {
	if q.Range == nil || q.Unit.Offset != 0 {
		return false
	}
	u := shownUnit(q.Unit)
	a, b := u.Clean(q.Range[0]), u.Clean(q.Range[1])
	return min(a, b) > 0 && (v > 5*max(a, b) || v > 0 && v < min(a, b)/5)
}

// perhapsDate reports whether a number is that of a day from 2000 to 2050: a
// spreadsheet reads 3/4 and, in many countries, 29.5 as a day, and may show it as a
// number.
func perhapsDate(v, ratio float64) bool {
	return isWhole(v) && v >= 36526 && v <= 55152 && !(ratio > 1./3 && ratio < 3)
}

// movedPoint reports whether a number has the three or more digits of the old one,
// with the point one place further on.
func movedPoint(v, was float64) bool {
	digits := strings.Trim(strings.ReplaceAll(typedNumber(math.Abs(was)), ".", ""), "0")
	return len(digits) >= 3 && (v == trimmed(was*10) || v == trimmed(was/10))
}

// beyondReason reports whether a number can only be a mistake.
func beyondReason(v, was float64) bool {
	size := math.Abs(v)
	return size >= 1e15 || was != 0 && was == was && size > farOff*math.Abs(was) && size > farOff
}

// farOff is the ratio of two numbers that are not values of one given.
const farOff = 1e6

// ask refuses a value that has two readings until it is accepted.
func (in *fieldReader) ask(e *Entry, what string, v, other float64) {
	in.askText(e, what, v, quantityText(e.Place.Quantity(), other))
}

// askText is ask with the other reading as a text.
func (in *fieldReader) askText(e *Entry, what string, v float64, other string) {
	text := quantityText(e.Place.Quantity(), v)
	e.Asked = true
	e.Refused = fmt.Sprintf("%s: %s or %s? Correct the cell, or take %s by --accept %s", what, text, other, text, e.Place.Name())
}

// quantityText writes a number with the shown unit of q; a value of the text as it
// was typed there.
func quantityText(q *check.Quantity, v float64) string {
	text, typed := q.Typed[v]
	if !typed {
		text = typedNumber(v)
	}
	return strings.TrimSpace(text + " " + symbol(q.Unit))
}

// typedNumber writes a number in the notation of worksheets.
func typedNumber(v float64) string {
	if size := math.Abs(v); size != 0 && (size < 1e-6 || size >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// same reports whether a field holds the value that was written. Spreadsheets
// keep 15 digits of a number.
func (in *fieldReader) same(q *check.Quantity, v float64, c content) bool {
	switch {
	case v != v:
		return c.value == ""
	case q.Type.Form == check.Text:
		return c.value == clean(in.s.Model.Texts[int(v)])
	case q.Type.Form == check.Truth:
		return c.value != "" && isTrue(c) == (v != 0) && isTrue(c) != isFalse(c)
	}
	number, err := strconv.ParseFloat(c.value, 64)
	return err == nil && !c.isText() && fifteen(cellUnit(q.Unit).Clean(v)) == fifteen(number)
}

func isTrue(c content) bool {
	return c.value == "1" || strings.EqualFold(c.value, "true") || strings.EqualFold(c.value, yesWord)
}

func isFalse(c content) bool {
	return c.value == "0" || strings.EqualFold(c.value, "false") || strings.EqualFold(c.value, noWord)
}

// split returns the tab and the row-th cell of a reference, 'Tab'!$C$5:$C$9.
func split(ref string, row int) (tab, cell string, ok bool) {
	tab, place, ok := strings.Cut(ref, "!")
	if quote := strings.LastIndex(ref, "'!"); quote > 0 {
		tab, place = strings.ReplaceAll(ref[1:quote], "''", "'"), ref[quote+2:]
	}
	first, _, _ := strings.Cut(strings.ReplaceAll(place, "$", ""), ":")
	at, sound := spotOf(first)
	if !ok || !sound {
		return "", "", false
	}
	at.row += row
	return tab, cellAt(at), at.row <= lastRow
}

// spotOf reads a reference such as B7.
func spotOf(cell string) (spot, bool) {
	column, row, err := excelize.CellNameToCoordinates(cell)
	return spot{column, row}, err == nil
}

// compare compares the formulas and texts with those that were written. The
// mark of the formulas says that they are unchanged; otherwise each is compared
// with the workbook as this program writes it, unless that has other formulas: it
// is of another version, or lacks the files that tables are read from.
func (in *fieldReader) compare() {
	v := in.survey
	v.cameApart()
	mark, known := in.book.props[stampProperty]
	switch {
	case len(v.problems) > 0: // other differences may follow from them
	case known && in.stamp().String() == mark:
		v.compare(false)
	case known && !v.exact:
		v.problemf("a formula was changed, added or deleted; which one is unknown, because the worksheet's files are missing or another version of Gearleaf wrote the workbook")
	default:
		v.compare(true)
	}
}

// stamp returns the stamp of the formulas in the written tabs, without those in
// fields for entries.
func (in *fieldReader) stamp() formulaStamp {
	var s formulaStamp
	for i, written := range in.survey.fresh.tabs {
		m := in.survey.tabs[written.name]
		if m == nil || m.to == nil {
			continue
		}
		for ref, c := range in.book.tab(m.to.name) {
			if c.formula != "" && !in.isTyped(m.to.name, ref) {
				s.add(i+1, ref, c.formula)
			}
		}
	}
	return s
}

// isTyped reports whether a formula was entered in the field of a given.
func (in *fieldReader) isTyped(tab, ref string) bool {
	for _, f := range in.typed {
		if f[0] == tab && f[1] == ref {
			return true
		}
	}
	return false
}
