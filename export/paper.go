package export

import (
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

	charPoints = 5.25 // width of a character of a column's width
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
	fit, size, width, height := true, 9, 1, 0
	orientation := "portrait"
	if wide {
		orientation = "landscape"
	}
	if err := f.SetSheetProps(tab, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
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

// leafPages divides the lines of a tab into pages, before the tab is flushed.
// Lines that belong on one page are made to fit it, unless they would be too
// small to read. Otherwise a page ends where no table is cut and no heading is
// left alone.
func (wb *workbook) leafPages(l *leaf, heights []float64) error {
	if l.onePage && sum(heights) <= portrait.points() {
		return wb.onePage(l.name)
	}
	for _, row := range l.pageEnds(heights) {
		if err := wb.f.InsertPageBreak(l.name, at(1, row+1)); err != nil {
			return err
		}
	}
	return nil
}

// mostBreaks is the largest number of page breaks of a tab.
const mostBreaks = 1000

// pageEnds returns the rows after which a new page begins.
func (l *leaf) pageEnds(heights []float64) []int {
	const reserve = 0.99 // another font has other heights
	most := portrait.high / portrait.scale(wholeWidth) * reserve
	var ends []int
	used := 0.0
	for i := 0; i < len(heights) && len(ends) < mostBreaks; {
		n := l.together(i)
		high := sum(heights[i : i+n])
		if used > 0 && used+high > most {
			ends = append(ends, i)
			used = heights[0] // the title, which is printed on each page
		}
		i, used = i+n, used+high
	}
	return ends
}

// together returns the number of lines from the i-th on that stay on one page.
func (l *leaf) together(i int) int {
	n := 1
	for i+n < len(l.lines) {
		switch next := l.lines[i+n].kind; l.lines[i+n-1].kind {
		case headLine, sectionLine, tableHeadLine, columnHeadLine, unitHeadLine:
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
