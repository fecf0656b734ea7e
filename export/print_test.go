package export

import (
	"bytes"
	"cmp"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"gearleaf/sheet/outside"
)

var printsDir = flag.String("prints", "", "keep the print-out of every template and of answers in this folder: PDF, and its pages as one picture")

// printInOffice prints each workbook named on standard input to a PDF, a line
// each: in.xlsx and out.pdf, separated by a tab. It reports every row of a visible
// tab that is lower than its texts. Then it enters wide numbers in every given, and
// prints again, to out.pdf.wide.
const printInOffice = `
for line in sys.stdin:
    into, out = line.rstrip("\n").split("\t")
    book = load(into, prop("Hidden", True))
    book.storeToURL("file://" + out, (prop("FilterName", "calc_pdf_Export"),))
    for sheet in book.Sheets:
        if not sheet.IsVisible:
            continue
        if sheet.isProtected():
            sheet.unprotect("")
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        last = min(cursor.RangeAddress.EndRow, 400)
        rows = sheet.Rows
        heights = [rows.getByIndex(i).Height for i in range(last + 1)]
        sheet.getCellRangeByPosition(0, 0, 0, last).Rows.OptimalHeight = True
        for i, h in enumerate(heights):
            best = rows.getByIndex(i).Height
            if best > h + 60 and sheet.getCellRangeByPosition(0, i, 60, i).queryContentCells(23).Count > 0:
                print("low\t%s\t%s\t%d\t%d\t%d" % (into, sheet.Name, i + 1, h, best))
    book.close(True)
    book = load(into, prop("Hidden", True))
    book.enableAutomaticCalculation(False)
    for sheet in book.Sheets:
        if sheet.IsVisible:
            for cell in sheet.queryContentCells(1).Cells:
                if not cell.CellProtection.IsLocked:
                    cell.Value = [-1234567.89, 12345678.9, 0.000123456789][(cell.CellAddress.Row + cell.CellAddress.Column) % 3]
    book.calculateAll()
    book.storeToURL("file://" + out + ".wide", (prop("FilterName", "calc_pdf_Export"),))
    book.close(True)
`

// mostPages bounds the print-out of a template that is used on paper, in pages.
var mostPages = map[string]int{
	"template-quarter-mile": 12, "template-set-up-book": 25, "template-saturday": 25, "template-between-rounds": 25,
}

// otherPages bounds the print-out of any other template.
const otherPages = 16

// wordHeight finds a word's upper and lower edge in what pdftotext -bbox writes.
var wordHeight = regexp.MustCompile(`xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">(.*)</word>`)

// carlitoLine is the height of a line of the font by its size: of Carlito, which
// is as wide as Calibri.
const carlitoLine = 1.3

// checkSmallest checks that all characters on paper are large enough to read; a value
// that is made to fit its cell may be a point smaller.
func checkSmallest(t *testing.T, name, pdf string) {
	t.Helper()
	text, err := exec.Command("pdftotext", "-bbox", pdf, "-").Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for i, page := range strings.Split(string(text), "<page ")[1:] {
		smallest, word := 99.0, ""
		for _, m := range wordHeight.FindAllStringSubmatch(page, -1) {
			var edge [4]float64
			for k := range edge {
				edge[k], _ = strconv.ParseFloat(m[k+1], 64)
			}
			high := edge[3] - edge[1]
			if utf8.RuneCountInString(m[5]) <= 3 {
				high = max(high, edge[2]-edge[0]) // a short word along an upright axis is wider than high
			}
			if size := high / carlitoLine; size < smallest {
				smallest, word = size, m[5]
			}
		}
		if smallest < smallestPrint-1 {
			t.Errorf("%s: page %d: %q is printed in %.1f points, not %.0f", name, i+1, word, smallest, smallestPrint)
		}
	}
}

// checkNoHashes checks that every number fits its column, also after wide ones have
// been entered.
func checkNoHashes(t *testing.T, name, pdf string) {
	t.Helper()
	for _, path := range []string{pdf, pdf + ".wide"} {
		text, err := exec.Command("pdftotext", "-bbox", path, "-").Output()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !bytes.Contains(text, []byte("345678")) && path != pdf && strings.HasPrefix(name, "template-") {
			t.Errorf("%s: no wide number is on paper", name)
		}
		for i, page := range strings.Split(string(text), "<page ")[1:] {
			words := slices.DeleteFunc(wordHeight.FindAllStringSubmatch(page, -1), func(m []string) bool { return !strings.Contains(m[5], "###") })
			edge, wide := 0.0, paperNumber(attribute(page, "width"))
			for _, m := range words {
				edge = max(edge, paperNumber(m[3]))
			}
			for _, m := range words {
				// Numbers in hidden columns are in the text of the page, at the right edge
				// of the tab, but not on paper.
				if right := paperNumber(m[3]); right < edge-1 || right < 0.78*wide {
					t.Errorf("%s: page %d: a number does not fit: %s", path, i+1, m[0])
				}
			}
		}
	}
}

func paperNumber(text string) float64 {
	v, _ := strconv.ParseFloat(text, 64)
	return v
}

// TestPagesCutNoTable checks that a page of a tab in lines ends neither in a
// table nor between a heading and its first line.
func TestPagesCutNoTable(t *testing.T) {
	breaks := 0
	for _, s := range samples(t) {
		b := newBook(s.s, s.r)
		for _, l := range b.leaves {
			heights := make([]float64, len(l.lines))
			for i := range heights {
				heights[i] = plainHeight
			}
			for _, row := range l.pageEnds(heights, leastScale) {
				breaks++
				before, after := l.lines[row-1].kind, l.lines[row].kind
				switch before {
				case headLine, sectionLine, tableHeadLine, columnHeadLine, unitHeadLine:
					t.Errorf("%s: %s: a page ends with the heading in row %d", s.name, l.name, row)
				case tableRowLine:
					if after == tableRowLine {
						t.Errorf("%s: %s: a page ends in a table, after row %d", s.name, l.name, row)
					}
				}
			}
		}
	}
	if breaks < 20 && *sampleNames == "" {
		t.Errorf("only %d pages end", breaks)
	}
}

// TestFormSaysWhatIsLeftOut checks that the printed form of a long table gives the
// number of its rows and of the live ones.
func TestFormSaysWhatIsLeftOut(t *testing.T) {
	forms := 0
	for _, s := range samples(t) {
		b := newBook(s.s, s.r)
		g := grid(nil)
		for _, tab := range b.tables {
			live, ended := s.r.Live(tab.t)
			if tab.form == nil || !tab.long() || !ended || live <= tab.form.rows {
				continue
			}
			if g == nil {
				book, _ := s.workbook(t)
				g = readGrid(t, book)
			}
			forms++
			remark := g[tab.tab][at(tab.form.column, tableRemarkRow)].value
			if want := strconv.Itoa(tab.form.rows) + " of " + strconv.Itoa(live) + " rows"; !strings.Contains(remark, want) {
				t.Errorf("%s: %s: the form says %q, not %q", s.name, tab.tab, remark, want)
			}
		}
	}
	if forms < 2 && *sampleNames == "" {
		t.Errorf("only %d forms leave rows out", forms)
	}
}

// TestPrintOut prints every template, and answers, in LibreOffice. No row is lower than its
// texts, every text of a tab that is printed is on paper, tabs of steps are
// not, and the number of pages is bounded. No number is too wide for its column,
// whatever is entered. With -prints the pages are kept as pictures to look at.
func TestPrintOut(t *testing.T) {
	pdftotext, err := exec.LookPath("pdftotext")
	if err != nil {
		outside.Missing(t, "pdftotext is not installed: no print-out was read")
	}
	if font, err := exec.Command("fc-match", "Calibri").Output(); err != nil || !strings.HasPrefix(string(font), "Carlito") && !strings.HasPrefix(string(font), "Calibri") {
		outside.Missing(t, "neither Calibri nor Carlito, which is as wide, is installed: a print-out has other sizes")
	}
	dir := t.TempDir()
	if *printsDir != "" {
		if dir, err = filepath.Abs(*printsDir); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	var jobs strings.Builder
	books, plans := map[string][]byte{}, map[string]*book{}
	for _, s := range samples(t) {
		if !strings.HasPrefix(s.name, "template-") {
			continue
		}
		plans[s.name] = newBook(s.s, s.r)
		books[s.name], _ = s.workbook(t)
		path := filepath.Join(dir, s.name)
		if err := os.WriteFile(path+".xlsx", books[s.name], 0o644); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&jobs, "%s.xlsx\t%s.pdf\n", path, path)
	}
	for name, book := range answerBooks(t) {
		books[name] = book
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path+".xlsx", book, 0o644); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&jobs, "%s.xlsx\t%s.pdf\n", path, path)
	}
	// From here on nothing is shared.
	t.Parallel()
	told := inOffice(t, "en-US", printInOffice, jobs.String())
	for _, line := range strings.Split(strings.TrimSpace(told), "\n") {
		if strings.HasPrefix(line, "low\t") {
			t.Errorf("a row is lower than its text (file, tab, row, height, needed): %s", strings.ReplaceAll(line[4:], "\t", ", "))
		}
	}
	for name, book := range books {
		pdf := filepath.Join(dir, name+".pdf")
		text, err := exec.Command(pdftotext, "-layout", pdf, "-").Output()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		pages := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
		if most := cmp.Or(mostPages[name], answerPages[name], otherPages); len(pages) > most {
			t.Errorf("%s: %d pages, at most %d", name, len(pages), most)
		}
		if plan := plans[name]; plan != nil {
			checkPages(t, name, book, plan, pages)
		}
		checkSmallest(t, name, pdf)
		checkNoHashes(t, name, pdf)
		if *printsDir != "" {
			montage(t, pdf)
		}
	}
}

// footer is at the foot of a page: tab, page / pages. Words of a picture may be
// on the same line.
var footer = regexp.MustCompile(`(?m)(?:^| {2,})(\S(?:\S| \S)*) {2,}\d+ ?/ ?\d+ *$`)

// checkPages compares the texts of the printed tabs with what is on paper.
func checkPages(t *testing.T, name string, book []byte, plan *book, pages []string) {
	t.Helper()
	byTab, count, several := map[string]string{}, map[string]int{}, len(plan.leaves) > 1
	heads := columnHeads(plan)
	for _, page := range pages {
		m := footer.FindAllStringSubmatch(page, -1)
		if len(m) == 0 {
			t.Errorf("%s: a page has no foot:\n%s", name, cutRunes(page, 200))
			continue
		}
		tab := m[len(m)-1][1]
		byTab[tab] += letterBag(page)
		count[tab]++
		for _, head := range heads[tab] {
			if !strings.Contains(letterBag(page), letterBag(head)) {
				t.Errorf("%s: page %d of the tab %s has no head %s", name, count[tab], tab, head)
			}
		}
	}
	for tab := range byTab {
		if strings.Contains(strings.ToLower(tab), "steps") || tab == sourceTab || tab == chartDataTab {
			t.Errorf("%s: the tab %s is printed", name, tab)
		}
	}
	if n := count["Sheet"]; name == "template-between-rounds" && n != 1 {
		t.Errorf("%s: the page between two rounds is %d pages", name, n)
	}
	g := readGrid(t, book)
	for _, tab := range []string{workedTab, "Sheet", limitsTab} {
		on, printed := byTab[tab]
		if _, exists := g[tab]; !exists {
			continue
		}
		if !printed {
			// The working of a book of several sheets is out of the way.
			if tab != workedTab || !several {
				t.Errorf("%s: nothing of the tab %s is printed", name, tab)
			}
			continue
		}
		for _, ref := range g.places(tab) {
			f := g[tab][ref]
			if f.hidden || f.kind != "inlineStr" && f.kind != "s" {
				continue
			}
			for _, word := range strings.Fields(f.value) {
				if w := letterBag(word); len(w) > 3 && len(w) < 20 && !strings.Contains(on, w) {
					t.Errorf("%s: %s!%s: %q of %q is not on paper", name, tab, ref, word, f.value)
					break
				}
			}
		}
	}
}

// columnHeads returns what every page of a tab has: of a table's its columns, of
// a tab in lines its title.
func columnHeads(b *book) map[string][]string {
	out := map[string][]string{}
	for _, t := range b.tables {
		if t.host != nil || t.t.Library {
			continue
		}
		shown := t.t.Columns
		if t.form != nil {
			shown = nil
			for _, block := range t.form.blocks {
				for _, i := range block {
					shown = append(shown, t.t.Columns[i])
				}
			}
		}
		for _, c := range shown {
			out[t.tab] = append(out[t.tab], c.Name)
		}
	}
	for _, l := range b.leaves {
		if out[l.name] = []string{l.title}; l.headed {
			out[l.name] = append(out[l.name], "Allowed")
		}
	}
	return out
}

// letterBag returns the letters and digits of a text, without what a line's end
// can change.
func letterBag(s string) string {
	return strings.Map(func(r rune) rune {
		if r < 0x80 && (unicode.IsLetter(r) || unicode.IsDigit(r)) {
			return r
		}
		return -1
	}, s)
}

// montage puts the pages of a PDF into one picture beside it.
func montage(t *testing.T, pdf string) {
	t.Helper()
	base := strings.TrimSuffix(pdf, ".pdf")
	if out, err := exec.Command("pdftoppm", "-r", "60", "-png", pdf, base+"-page").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	files, err := filepath.Glob(base + "-page-*.png")
	if err != nil || len(files) == 0 {
		t.Fatalf("%s has no pages (%v)", pdf, err)
	}
	slices.Sort(files)
	const perRow, gap = 5, 8
	var pages []image.Image
	wide, high := 0, 0
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		page, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		pages = append(pages, page)
		wide, high = max(wide, page.Bounds().Dx()), max(high, page.Bounds().Dy())
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
	rows := (len(pages) + perRow - 1) / perRow
	sheet := image.NewRGBA(image.Rect(0, 0, min(len(pages), perRow)*(wide+gap), rows*(high+gap)))
	draw.Draw(sheet, sheet.Bounds(), image.Black, image.Point{}, draw.Src)
	for i, page := range pages {
		at := image.Pt(i%perRow*(wide+gap), i/perRow*(high+gap))
		draw.Draw(sheet, page.Bounds().Add(at), page, page.Bounds().Min, draw.Src)
	}
	var out bytes.Buffer
	if err := png.Encode(&out, sheet); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(base+".png", out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
