package export

import (
	"io"

	"gearleaf/export/page"
	"gearleaf/sheet"
)

// writePage writes the sheet as a page that calculates.
func writePage(w io.Writer, s *sheet.Sheet, r *sheet.Result, _ Options) (Report, error) {
	return Report{}, page.Write(w, page.Input{Sheet: s, Result: r, Charts: Drawn(s, r)})
}
