package export

import (
	"bytes"
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
	"strings"
	"testing"
	"unicode"
)

var printsDir = flag.String("prints", "", "keep the print-out of every template in this folder: PDF, and its pages as one picture")

// printInOffice prints each workbook named on standard input to a PDF, a line
// each: in.xlsx and out.pdf, separated by a tab. It reports every row of a visible
// tab that is lower than its texts.
const printInOffice = `
for line in sys.stdin:
    into, out = line.rstrip("\n").split("\t")
    book = desktop.loadComponentFromURL("file://" + into, "_blank", 0, (prop("Hidden", True),))
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
            if best > h + 60:
                print("low\t%s\t%s\t%d\t%d\t%d" % (into, sheet.Name, i + 1, h, best))
    book.close(True)
`

// mostPages bounds the print-out of a template that is used on paper, in pages.
var mostPages = map[string]int{"template-quarter-mile": 12, "template-set-up-book": 25}

// TestPrintOut prints every template in LibreOffice. No row is lower than its
// texts, every text of a tab that is printed is on paper, tabs of steps are
// not, and the number of pages is bounded. With -prints the pages are kept as
// pictures to look at.
func TestPrintOut(t *testing.T) {
	pdftotext, err := exec.LookPath("pdftotext")
	if err != nil {
		missing(t, "pdftotext is not installed: no print-out was read")
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
	books, several := map[string][]byte{}, map[string]bool{}
	for _, s := range samples(t) {
		if !strings.HasPrefix(s.name, "template-") {
			continue
		}
		several[s.name] = len(newBook(s.s, s.r).leaves) > 1
		books[s.name], _ = s.workbook(t)
		path := filepath.Join(dir, s.name)
		if err := os.WriteFile(path+".xlsx", books[s.name], 0o644); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&jobs, "%s.xlsx\t%s.pdf\n", path, path)
	}
	// From here on nothing is shared.
	t.Parallel()
	told := inOffice(t, "en-US", indented(printInOffice), jobs.String())
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
		if most := mostPages[name]; most > 0 && len(pages) > most {
			t.Errorf("%s: %d pages, at most %d", name, len(pages), most)
		}
		checkPages(t, name, book, several[name], pages)
		if *printsDir != "" {
			montage(t, pdf)
		}
	}
}

// footer is at the foot of a page: tab, page / pages. Words of a picture may be
// on the same line.
var footer = regexp.MustCompile(`(?m)(?:^| {2,})(\S(?:\S| \S)*) {2,}\d+ ?/ ?\d+ *$`)

// checkPages compares the texts of the printed tabs with what is on paper.
func checkPages(t *testing.T, name string, book []byte, several bool, pages []string) {
	t.Helper()
	byTab, count := map[string]string{}, map[string]int{}
	for _, page := range pages {
		m := footer.FindAllStringSubmatch(page, -1)
		if len(m) == 0 {
			t.Errorf("%s: a page has no foot:\n%s", name, cutRunes(page, 200))
			continue
		}
		tab := m[len(m)-1][1]
		byTab[tab] += letterBag(page)
		count[tab]++
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
			if f.kind != "inlineStr" && f.kind != "s" {
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
