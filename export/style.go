package export

import (
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// The workbook's look: ink on white, one pale tone for what may be changed,
// one for heads, hairlines between rows; nothing else.
const (
	ink      = "1F2933"
	muted    = "66717D"
	hairline = "D5DBE1"
	headTone = "E9EEF3"
	openTone = "FFF8E1"
	openLine = "D8C88F"
	red      = "8E1B1B"
	redTone  = "FBE1E1"
	amber    = "7A5600"
	amberTo  = "FFF0C9"
	green    = "2D6A3E"
	fontName = "Calibri"
)

// look is the role of a cell; its style follows from it and its number format.
type look uint8

const (
	plainLook look = iota
	titleLook
	verdictLook
	cautionLook
	noteLook
	conditionLook // a limit's, on the front
	reasonLook    // and below it
	tableLook     // the title of a short table
	blockLook     // a block's head
	sectionLook
	labelLook
	openLook // may be changed
	shutLook // computed
	sideLook // a number of a limit, on the front: rounded where the limit is
	unitLook
	remarkLook
	lineLook // a remark on one line
	nameLook
	stateLook
	columnLook // a table's column head
	columnUnitLook
	columnLabelLook
	groupLook      // a label over several columns
	rowLook        // a row's number
	blockRightLook // a block's head over numbers
)

type styleKey struct {
	look   look
	format string
	left   bool // a text, which is aligned left
}

// styles makes each style once.
type styles struct {
	f     *excelize.File
	known map[styleKey]int
	err   error
}

func (s *styles) of(l look, format string, left bool) int {
	key := styleKey{l, format, left}
	if id, ok := s.known[key]; ok {
		return id
	}
	style := looks(l)
	if format != "" {
		style.CustomNumFmt = &format
	}
	// Digits that do not fit are smaller, not "###"; General leaves some out.
	style.Alignment.ShrinkToFit = style.Alignment.ShrinkToFit || (l == openLook || l == shutLook) && strings.HasPrefix(format, "0")
	if left {
		style.Alignment.Horizontal = "left"
		if l != titleLook && l != rowLook {
			style.Alignment.Indent = 1 // clear of right-aligned values in the column before
		}
		style.Alignment.WrapText = style.Alignment.WrapText || l == openLook || l == shutLook || l == reasonLook
	}
	id, err := s.f.NewStyle(style)
	if err != nil && s.err == nil {
		s.err = err
	}
	s.known[key] = id
	return id
}

// band returns n cells of one look, with a text in the first.
func (s *styles) band(l look, n int, text string) []any {
	if l == sectionLook {
		n = lastFrontColumn
	}
	row := make([]any, n)
	for i := range row {
		row[i] = excelize.Cell{StyleID: s.of(l, "", false)}
	}
	row[0] = excelize.Cell{Value: clean(text), StyleID: s.of(l, "", false)}
	return row
}

func looks(l look) *excelize.Style {
	s := &excelize.Style{
		Font:       &excelize.Font{Family: fontName, Size: smallestFont, Color: ink},
		Alignment:  &excelize.Alignment{Vertical: "top"},
		Protection: &excelize.Protection{Locked: true},
	}
	switch l {
	case titleLook:
		s.Font.Size, s.Font.Bold = 18, true
	case verdictLook:
		s.Font.Size, s.Font.Bold, s.Alignment.WrapText = 12, true, true
		s.Alignment.Vertical = "center"
	case noteLook:
		s.Font.Color, s.Font.Size, s.Alignment.WrapText = muted, 10, true
	case conditionLook:
		s.Alignment.ShrinkToFit = true
	case reasonLook:
		s.Font.Color, s.Alignment.ShrinkToFit = muted, true
		s.Alignment.Horizontal, s.Alignment.Indent = "left", 1
	case tableLook:
		s.Font.Italic, s.Alignment.Vertical = true, "bottom"
	case cautionLook:
		s.Font.Color, s.Alignment.WrapText = amber, true
	case blockLook, blockRightLook:
		s.Font.Bold, s.Fill = true, tone(headTone)
		s.Alignment.Vertical = "center"
		if l == blockRightLook {
			s.Alignment.Horizontal = "right"
		}
	case sectionLook:
		s.Font.Bold, s.Border = true, under(hairline)
		s.Alignment.Vertical = "bottom"
	case labelLook, remarkLook:
		s.Alignment.WrapText, s.Font.Size = true, 10
		if l == remarkLook {
			s.Font.Color = muted
		}
	case lineLook:
		s.Font.Color, s.Font.Size = muted, 10
	case openLook:
		s.Fill, s.Border = tone(openTone), around(openLine)
		s.Protection = &excelize.Protection{Locked: false}
		s.Alignment.Horizontal = "right"
	case shutLook:
		s.Alignment.Horizontal = "right"
	case sideLook:
		s.Alignment.Horizontal, s.Alignment.ShrinkToFit = "right", true
	case unitLook, nameLook:
		s.Font.Color = muted
		if l == unitLook {
			s.Alignment.Horizontal, s.Alignment.Indent, s.Alignment.ShrinkToFit = "left", 1, true
		}
	case stateLook:
		s.Font.Bold, s.Alignment.Horizontal = true, "right"
	case columnLook:
		s.Font.Bold, s.Fill, s.Alignment.Horizontal = true, tone(headTone), "right"
	case columnUnitLook:
		s.Font.Color, s.Fill, s.Alignment.Horizontal = muted, tone(headTone), "right"
	case columnLabelLook, groupLook:
		s.Font.Size, s.Alignment.Horizontal, s.Alignment.WrapText, s.Alignment.Vertical = smallestFont, "right", true, "bottom"
		s.Font.Color = muted
		if l == groupLook {
			s.Alignment.Horizontal, s.Border = "center", under(hairline)
		}
	case rowLook:
		s.Font.Color, s.Alignment.Horizontal = muted, "right"
	}
	return s
}

func tone(colour string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
}

func under(colour string) []excelize.Border {
	return []excelize.Border{{Type: "bottom", Color: colour, Style: 1}}
}

func around(colour string) []excelize.Border {
	var b []excelize.Border
	for _, side := range []string{"left", "right", "top", "bottom"} {
		b = append(b, excelize.Border{Type: side, Color: colour, Style: 1})
	}
	return b
}

// format returns the number format of a quantity, for the value v in its shown
// unit.
func format(q *check.Quantity, v float64) string {
	switch {
	case q.Type.Form == check.Text:
		return "@"
	case q.Type.Form == check.Truth:
		return general
	case isPercent(q.Unit):
		return percentFormat(q, v)
	case q.Given && !q.Whole && v == v:
		return givenFormat(q, v)
	case q.To != 0:
		return decimals(unit.Decimals(q.To))
	case q.Whole:
		return "0"
	case v != v || v == 0 || v == math.Trunc(v) && math.Abs(v) < 1e9:
		return general
	}
	return asShown(v, "")
}

// general is the number format that shows all digits of a number.
const general = "General"

// asShown returns the number format that shows v with the digits that it has in
// the sheet, and another value with up to six significant ones, as far as a
// format can.
func asShown(v float64, sign string) string {
	number, power, exponential := strings.Cut(unit.FormatNumber(v, 0), "e")
	_, fraction, _ := strings.Cut(number, ".")
	most := 5
	if exponential && sign == "%" { // not every program knows a percentage with an exponent
		return "0.0#######################%"
	}
	if exponential {
		sign = "E+" + strings.Repeat("0", len(power)-1)
	} else {
		most -= int(math.Floor(math.Log10(math.Abs(v))))
	}
	switch {
	case exponential && fraction == "":
		return "0." + strings.Repeat("#", most) + sign // a power of ten now
	case fraction == "" && sign == "" && most > 0:
		return general // a whole number but for its last bits
	case fraction == "":
		return "0" + sign
	}
	return decimals(len(fraction)) + strings.Repeat("#", max(0, most-len(fraction))) + sign
}

// percentFormat returns the number format of a percentage, for v in percent.
func percentFormat(q *check.Quantity, v float64) string {
	switch {
	case q.To != 0:
		return decimals(unit.Decimals(q.To)) + "%"
	case v != v:
		return "0.0###%"
	case q.Given:
		return decimals(typedPlaces(q, v)) + "%"
	case v == 0:
		return "0%"
	}
	return asShown(v, "%")
}

// generalDigits is how many characters of a number its cell shows in the format
// General, wherever it is.
const generalDigits = 9

// givenFormat returns the number format that shows a given as it was typed.
// General shows the digits of a later entry, and is kept where it shows those of v.
func givenFormat(q *check.Quantity, v float64) string {
	text, typed := typedText(q, v)
	switch {
	case q.To != 0:
		return atLeastDecimals(max(unit.Decimals(q.To), typedPlaces(q, v)))
	case strings.Contains(text, "e"), !typed && len(text) <= generalDigits && (v == 0 || math.Abs(v) >= 1e-4):
		return general
	case strings.Contains(text, "."):
		return atLeastDecimals(typedPlaces(q, v))
	}
	return "0"
}

// typedText returns a given, in its shown unit, as it was typed; typed says that
// the value alone would have other digits.
func typedText(q *check.Quantity, v float64) (text string, typed bool) {
	for _, key := range []float64{v, trimmed(v)} {
		if text, typed = q.Typed[key]; typed {
			return text, true
		}
	}
	return unit.FormatGiven(v, q.To), false
}

// typedPlaces returns how many decimals of a given were typed.
func typedPlaces(q *check.Quantity, v float64) int {
	text, _ := typedText(q, v)
	_, fraction, _ := strings.Cut(text, ".")
	return len(fraction)
}

// atLeastDecimals returns the number format of a given with a step of n
// decimals; it also shows further typed ones.
func atLeastDecimals(n int) string {
	if n == 0 {
		return general
	}
	return decimals(n) + "########"[:max(0, 8-n)]
}

func decimals(n int) string {
	if n == 0 {
		return "0"
	}
	return "0." + strings.Repeat("0", n)
}
