package export

import (
	"io"

	"gearleaf/export/page"
	"gearleaf/sheet"
)

// WriteLivePage writes the page that a server shows: it follows the worksheet
// and may write to it.
func WriteLivePage(w io.Writer, r *sheet.Result) error {
	if err := pageable(r); err != nil {
		return err
	}
	return page.Write(w, page.Input{Sheet: r.Sheet, Result: r, Charts: Drawn(r.Sheet, r), Live: true})
}

// SiteFiles returns the files of a site that shows the page, the page last.
func SiteFiles(r *sheet.Result) ([]page.File, error) {
	if err := pageable(r); err != nil {
		return nil, err
	}
	return page.Site(pageInput(r))
}

// pageInput is what the page of r is written from.
func pageInput(r *sheet.Result) page.Input {
	return page.Input{Sheet: r.Sheet, Result: r, Charts: Drawn(r.Sheet, r), Set: setRemark(SetText(r.Sheet))}
}

// writePage writes the sheet as a page that calculates.
func writePage(w io.Writer, _ *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	if err := pageable(r); err != nil {
		return Report{}, err
	}
	return Report{}, page.Write(w, pageInput(r))
}
