package export

import (
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/check"
)

// Every tab is printed one page of A4 wide. Its columns determine the scale, so
// they are at most as wide as the smallest print allows.
const (
	smallestFont  = 10.0 // points, of what is on paper
	smallestPrint = 7.0  // and as it is printed
	leastScale    = smallestPrint / smallestFont

	// The width of a character of a column's width: some programs round it to
	// 5.25, others take the digit of the font.
	charPoints = 5.6
)

// pageSize is the part of a page within its margins, in points.
type pageSize struct{ wide, high float64 }

var (
	portrait  = pageSize{537, 777}
	landscape = pageSize{784, 530}
)

// chars returns the widths of columns, in characters, that are readable on one
// page.
func (p pageSize) chars() int { return int(p.wide / leastScale / charPoints) }

// points returns the heights of rows, in points, that are readable on one page.
func (p pageSize) points() float64 { return p.high / leastScale }

// scale returns the scale at which that many characters fill the width.
func (p pageSize) scale(chars int) float64 { return min(1, p.wide/charPoints/float64(chars)) }

// paperMargins are narrow, in inches; the footer is within the lower one.
var paperMargins = func() excelize.PageLayoutMarginsOptions {
	side, top, bottom, foot := 0.4, 0.4, 0.5, 0.25
	return excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &top, Bottom: &bottom, Header: &foot, Footer: &foot}
}()

// page sets a tab up for paper: A4, one page wide, any number of pages long.
func (wb *workbook) page(tab string, wide bool, titleRows string) error {
	return paper(wb.f, tab, wb.m.Title, wide, titleRows)
}

// paper sets a tab of f up so; title is at the foot of each page.
func paper(f *excelize.File, tab, title string, wide bool, titleRows string) error {
	size, width, height := 9, 1, 0
	orientation := "portrait"
	if wide {
		orientation = "landscape"
	}
	if err := fitPages(f, tab, true); err != nil {
		return err
	}
	err := f.SetPageMargins(tab, &paperMargins)
	if err != nil {
		return err
	}
	err = f.SetPageLayout(tab, &excelize.PageLayoutOptions{Size: &size, Orientation: &orientation, FitToWidth: &width, FitToHeight: &height})
	if err != nil {
		return err
	}
	head := strings.ReplaceAll(cutRunes(clean(title), 120), "&", "&&")
	err = f.SetHeaderFooter(tab, &excelize.HeaderFooterOptions{OddFooter: "&L&10" + head + "&C&10&A&R&10&P / &N"})
	if err != nil || titleRows == "" {
		return err
	}
	return f.SetDefinedName(&excelize.DefinedName{
		Name: "_xlnm.Print_Titles", RefersTo: quoteSheet(tab) + "!" + titleRows, Scope: tab,
	})
}

// fitPages sets whether a tab's columns determine its scale.
func fitPages(f *excelize.File, tab string, fit bool) error {
	return f.SetSheetProps(tab, &excelize.SheetPropsOptions{FitToPage: &fit})
}

// printArea bounds what is printed of a tab, from its first row on.
func printArea(f *excelize.File, tab string, first, last, row int) error {
	return f.SetDefinedName(&excelize.DefinedName{
		Name: "_xlnm.Print_Area", RefersTo: quoteSheet(tab) + "!" + fixed(first, 1) + ":" + fixed(last, row), Scope: tab,
	})
}

// onePage makes a tab's print-out fit one page.
func (wb *workbook) onePage(tab string) error {
	one := 1
	return wb.f.SetPageLayout(tab, &excelize.PageLayoutOptions{FitToWidth: &one, FitToHeight: &one})
}

// leafPages divides the lines of a tab into pages, before the tab is flushed, so
// that no table is cut and no heading is left alone at a page's end. Its print is
// as large as it can be on that number of pages.
func (wb *workbook) leafPages(l *leaf, heights []float64) error {
	fewest := len(l.pageEnds(heights, leastScale))
	percent := uint(100 * portrait.scale(wholeWidth) * reserve)
	for percent > 100*leastScale && len(l.pageEnds(heights, float64(percent)/100)) > fewest {
		percent--
	}
	ends := l.pageEnds(heights, float64(percent)/100)
	if err := wb.f.SetPageLayout(l.name, &excelize.PageLayoutOptions{AdjustTo: &percent}); err != nil {
		return err
	}
	for _, row := range ends {
		if err := wb.f.InsertPageBreak(l.name, at(1, row+1)); err != nil {
			return err
		}
	}
	return nil
}

// reserve is the part of a page that is filled: another font has other sizes.
const reserve = 0.99

// mostBreaks is the largest number of page breaks of a tab.
const mostBreaks = 1000

// pageEnds returns the rows after which a new page begins, at a scale.
func (l *leaf) pageEnds(heights []float64, scale float64) []int {
	most := portrait.high / scale * reserve
	var ends []int
	used := 0.0
	for i := 0; i < len(heights) && len(ends) < mostBreaks; {
		n := l.together(i)
		high := sum(heights[i : i+n])
		if used > 0 && used+high > most {
			ends = append(ends, i)
			used = heights[l.head()]
		}
		i, used = i+n, used+high
	}
	return ends
}

// head returns the line that is printed on each page: the one that names the columns
// of the tab's own lines, or the title.
func (l *leaf) head() int {
	return max(0, slices.IndexFunc(l.lines, func(n line) bool { return n.kind == headLine && n.text == sheetBlock }))
}

// together returns the number of lines from the i-th on that stay on one page.
func (l *leaf) together(i int) int {
	n := 1
	for i+n < len(l.lines) {
		switch next := l.lines[i+n].kind; l.lines[i+n-1].kind {
		case headLine, sectionLine, limitLine, tableHeadLine, columnHeadLine, unitHeadLine:
		case tableRowLine:
			if next != tableRowLine {
				return n
			}
		default:
			return n
		}
		n++
	}
	return n
}

// sum returns the sum of heights.
func sum(heights []float64) float64 {
	out := 0.0
	for _, h := range heights {
		out += h
	}
	return out
}

// aside reports whether the tables and charts of an origin are hidden: those of
// used sheets in a book whose front is one page to read.
func (b *book) aside(o check.Origin) bool { return b.front.onePage && o.File != 0 }

// chartsAside reports whether all charts are hidden.
func (b *book) chartsAside() bool {
	for _, c := range b.m.Charts {
		if !b.aside(c.Origin) {
			return false
		}
	}
	return true
}
