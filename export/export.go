// Package export writes a computed sheet for other programs: a workbook with
// live formulas, CSV, Parquet, JSON and Markdown. Formats lists all of them.
package export

import (
	"io"
	"strings"

	"gearleaf/sheet"
)

// Format is one way to write a sheet.
type Format struct {
	Name      string
	Extension string // with the dot
	Meaning   string // one line for the help
	Write     func(w io.Writer, s *sheet.Sheet, r *sheet.Result, o Options) (Report, error)
}

// Options selects what to write in formats with a choice.
type Options struct {
	// Table names the one table that CSV and Parquet write; empty for everything.
	Table string
	// Decimal, DecimalPoint or DecimalComma, is the decimal sign in CSV for a
	// spreadsheet, which begins with a byte order mark; with a comma, semicolons
	// separate the fields. Empty is CSV for programs (RFC 4180).
	Decimal string
	// Origin is additional metadata for Parquet.
	Origin Origin
}

// The signs before decimals in CSV for a spreadsheet.
const (
	DecimalPoint = "point"
	DecimalComma = "comma"
)

// Report describes the output of a writer.
type Report struct {
	Formulas int      // cells that hold a live formula
	Steps    int      // cells that hold a part of one
	Frozen   []Frozen // computed cells that could only be written as values
}

// Frozen is a computed cell whose formula the format cannot express.
type Frozen struct {
	Cell string
	Why  string
}

// Formats returns every format, in the order in which help lists them.
func Formats() []Format {
	return []Format{
		{Name: "workbook", Extension: ".xlsx", Meaning: "a spreadsheet with live formulas, limits and charts", Write: writeWorkbook},
		{Name: "csv", Extension: ".csv", Meaning: "every value, one per line, or one table", Write: writeCSV},
		{Name: "parquet", Extension: ".parquet", Meaning: "the same as CSV, typed, for data tools", Write: writeSheetParquet},
		{Name: "json", Extension: ".json", Meaning: "every value with its unit, for programs", Write: writeJSON},
		{Name: "html", Extension: ".html", Meaning: "a page that calculates, for a phone without a network", Write: writePage},
		{Name: "markdown", Extension: ".md", Meaning: "the sheet as a text to print or mail", Write: writeMarkdown},
		{Name: "svg", Extension: ".svg", Meaning: "the charts, as a drawing", Write: writeSVG},
		{Name: "png", Extension: ".png", Meaning: "the charts, as a picture", Write: writePNG},
	}
}

// ByExtension returns the format for the extension of a file's name.
func ByExtension(name string) (Format, bool) {
	for _, f := range Formats() {
		if strings.HasSuffix(strings.ToLower(name), f.Extension) {
			return f, true
		}
	}
	return Format{}, false
}
