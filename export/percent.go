package export

import (
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
	"gearleaf/sheet/unit"
)

// A workbook stores a percentage in the usual way of spreadsheets: the cell
// holds a fraction and its number format shows it in percent, so entries of 5
// and of 5 % mean the same. A logical value is the text yes or no, which is the
// same in every locale.

// isPercent reports whether a workbook shows u by a percent format.
func isPercent(u unit.Unit) bool { return u.Scale == 0.01 && strings.HasSuffix(u.Symbol, "%") }

// cellUnit returns the unit of the number in a cell: the shown one, but a
// fraction for a percentage.
func cellUnit(u unit.Unit) unit.Unit {
	if isPercent(u) {
		u.Scale = 1
	}
	return shownUnit(u)
}

// cellSymbol returns the unit as it is beside a number in a cell, whose format
// writes % itself.
func cellSymbol(u unit.Unit) string {
	if u.Symbol == "%" {
		return ""
	}
	return symbol(u)
}

// percentSign is the percent sign after a number of u in text, as in its cell.
func percentSign(u unit.Unit) string {
	if isPercent(u) {
		return "%"
	}
	return ""
}

// The words for a logical value in a cell.
const (
	yesWord = "yes"
	noWord  = "no"
)

func yesNo(v float64) string {
	if v != 0 {
		return yesWord
	}
	return noWord
}

// truthOf returns the term of a logical value that a cell holds as a word. A
// given's cell may hold anything, which is a fault unless it is one of the two
// words.
func truthOf(q *check.Quantity, ref string) term {
	if q.Given {
		return plainTerm(`IF(`+ref+`="yes",TRUE,IF(`+ref+`="no",FALSE,NA()))`, atom)
	}
	return plainTerm(ref+`="yes"`, compares)
}

// fromCell finishes a term whose text reads a cell of q: a logical value, which
// is a word there, becomes a condition.
func fromCell(q *check.Quantity, t term) term {
	if q.Type.Form == check.Truth {
		read := truthOf(q, t.bracket(atom))
		t.text, t.bind = read.text, read.bind
	}
	return t
}

// word returns the formula that turns a condition into the word for it.
func word(condition string) string {
	switch condition {
	case "TRUE":
		return `"yes"`
	case "FALSE":
		return `"no"`
	}
	if ref, ok := strings.CutSuffix(condition, `="yes"`); ok && !strings.ContainsAny(ref, `"<>=+-*/^& (`) {
		return ref
	}
	return "IF(" + condition + `,"yes","no")`
}

// inWords returns a logical value in the notation of cells.
func (p *printer) inWords(t term) term {
	if len(t.guards) > 0 {
		t = p.step(t, p.its("condition"))
	}
	t.text, t.bind = word(t.text), atom
	return t
}

// allDigits lets a percentage show the digits of a later entry that has more of
// them than the number format of its cell.
func (wb *workbook) allDigits(tab string, cells []guarded) error {
	cells = slices.DeleteFunc(slices.Clone(cells), func(c guarded) bool {
		return !isPercent(c.q.Unit) || len(c.q.Choice) > 0
	})
	if len(cells) == 0 {
		return nil
	}
	long := "0.0#######%"
	style, err := wb.f.NewConditionalStyle(&excelize.Style{CustomNumFmt: &long})
	if err != nil {
		return err
	}
	for _, c := range cells {
		first, _, _ := strings.Cut(c.ref, ":")
		err := wb.f.SetConditionalFormat(tab, c.ref, []excelize.ConditionalFormatOptions{
			{Type: "formula", Criteria: "ROUND(" + first + "*100," + strconv.Itoa(typedDecimals(c)) + ")<>ROUND(" + first + "*100,8)", Format: &style},
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// typedDecimals returns the fewest decimals that a cell of a percentage shows.
func typedDecimals(c guarded) int {
	if c.q.To != 0 {
		return unit.Decimals(c.q.To)
	}
	fewest := -1
	for _, v := range c.values {
		if n := typedPlaces(c.q, c.q.Unit.Clean(v)); v == v && (fewest < 0 || n < fewest) {
			fewest = n
		}
	}
	return max(fewest, 0)
}
