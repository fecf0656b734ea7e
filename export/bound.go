package export

import (
	"fmt"

	"gearleaf/sheet"
	"gearleaf/sheet/source"
)

// Reportable returns an error if the tables of r hold more fields than one
// document takes: a document is made as a whole, CSV a line at a time.
func Reportable(r *sheet.Result) error {
	fields := 0
	for _, t := range ownTables(r.Sheet.Model) {
		live, _ := r.Live(t)
		fields += live * len(t.Columns)
	}
	if fields > source.MaxReported {
		return fmt.Errorf("the tables hold %d fields; a document takes %d: write CSV (export --format csv), which takes any number", fields, source.MaxReported)
	}
	return nil
}

// pageable returns an error if a page cannot show all of r.
func pageable(r *sheet.Result) error {
	if cells := len(r.Sheet.Model.Cells); cells > source.MaxPageCells {
		return fmt.Errorf("the sheet has %d cells; a page shows %d: write a workbook", cells, source.MaxPageCells)
	}
	return Reportable(r)
}

// ReportableChange returns an error if the tables that c reaches hold more
// values than one report or document lists.
func ReportableChange(c *sheet.Changed) error {
	values := 0
	for _, item := range c.Outline() {
		if item.Table != nil {
			before, _ := c.Before.Live(item.Table)
			after, _ := c.After.Live(item.Table)
			values += max(before, after) * len(c.Columns(item.Table))
		}
	}
	if values > source.MaxMoved {
		return fmt.Errorf("the change reaches %d values; a report of all of them lists at most %d: write the changed sheet as CSV (gearleaf change … -o FILE.csv)", values, source.MaxMoved)
	}
	return nil
}
