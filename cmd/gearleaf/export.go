package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/disk"
)

const exportLong = `Write a computed worksheet for other programs. The ending of FILE selects the
format, or --format does; "-" writes to standard output. FILE is written whole
or not at all.

Formats:
%s
CSV is for programs: commas, decimal points, no byte order mark. With --decimal
a double click opens it in a spreadsheet: it begins with a byte order mark, and
with a decimal comma the fields are separated by semicolons. Parquet has the
unit and the kind of each column in its metadata; a value at fault is blank
there, and the column fault has the cause.

--site DIR writes the page as a folder for any static https host instead, with a
manifest and a service worker that keeps it for use without a network.

Files name the givens that --set has changed, CSV in a last column, set.

Every number is confirmed by the second evaluator before it is written. Formulas
that a format cannot express are reported on standard error.

Exit status: 0; 1 if a limit is broken or a value is at fault (the file is
written); 2 not computed or not written.`

const exportExample = `  gearleaf export bike.leaf -o bike.xlsx
  gearleaf export bike.leaf -o gears.csv --table gears
  gearleaf export bike.leaf -o gears.parquet --table gears
  gearleaf export bike.leaf -o gears.csv --decimal comma  # for a spreadsheet
  gearleaf export bike.leaf -o bike.html
  gearleaf export bike.leaf --site bike-site
  gearleaf export bike.leaf --format json -o -`

type exportOptions struct {
	output, format, table, site string
	decimal                     string
	set                         []string
}

func newExport() *cobra.Command {
	var o exportOptions
	cmd := &cobra.Command{
		Use:               "export SHEET -o FILE",
		Short:             "Write a worksheet as a workbook, a page that calculates, CSV, JSON",
		Long:              fmt.Sprintf(exportLong, formatLines()),
		Example:           exportExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return exportSheet(cmd, args[0], o) },
	}
	cmd.Flags().StringVarP(&o.output, "output", "o", "", "the `file` to write, or - for standard output")
	cmd.Flags().StringVar(&o.format, "format", "", "the format's `name`, if the ending does not select it")
	cmd.Flags().StringVar(&o.table, "table", "", "write this `table` alone, in CSV or Parquet")
	cmd.Flags().StringVar(&o.decimal, "decimal", "", "CSV for a spreadsheet whose decimal `sign` is point or comma")
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "compute with `name=quantity`, in this run only")
	cmd.Flags().StringVar(&o.site, "site", "", "write the page as a site into this `folder`")
	mustComplete(cmd, "format", completeFormat)
	mustComplete(cmd, "set", completeSettings)
	mustComplete(cmd, "table", completeTables)
	mustComplete(cmd, "decimal", cobra.FixedCompletions([]string{export.DecimalPoint, export.DecimalComma}, cobra.ShellCompDirectiveNoFileComp))
	cmd.MarkFlagsOneRequired("output", "site")
	for _, other := range []string{"output", "format", "table", "decimal"} {
		cmd.MarkFlagsMutuallyExclusive("site", other)
	}
	return cmd
}

// formatLines lists the formats for the help.
func formatLines() string {
	var out strings.Builder
	for _, f := range export.Formats() {
		fmt.Fprintf(&out, "  %s %s %s\n", padRight(f.Name, 10), padRight(f.Extension, 8), f.Meaning)
	}
	return out.String()
}

func completeFormat(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	var out []string
	for _, f := range export.Formats() {
		out = append(out, described(f.Name, f.Meaning))
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

func exportSheet(cmd *cobra.Command, path string, o exportOptions) error {
	var format export.Format
	var err error
	if o.site == "" {
		if format, err = chooseFormat(o.output, o.format); err != nil {
			return err
		}
		if err := o.admit(format); err != nil {
			return err
		}
	}
	s, err := loadFor(cmd, path, o.output)
	if err != nil {
		return err
	}
	if err := set(cmd, s, o.set); err != nil {
		return err
	}
	r, err := s.Compute()
	if err != nil {
		return err
	}
	if o.site != "" {
		err = writeSite(cmd, o.site, r)
	} else {
		err = writeTo(cmd, format, o, r)
	}
	if err != nil {
		return err
	}
	return outcome(r)
}

// admit refuses options that the format does not have.
func (o *exportOptions) admit(format export.Format) error {
	switch {
	case o.decimal != "" && o.decimal != export.DecimalPoint && o.decimal != export.DecimalComma:
		return fmt.Errorf("--decimal takes point or comma, not %q", o.decimal)
	case o.table != "" && format.Name != "csv" && format.Name != "parquet":
		return fmt.Errorf("--table writes one table as CSV or Parquet: give a file that ends in .csv or .parquet, or leave it out")
	case o.decimal != "" && format.Name != "csv":
		return fmt.Errorf("--decimal is for CSV: give a file that ends in .csv, or leave it out")
	}
	return nil
}

// writeSite writes the page of r as a site: a new folder whole or not at all,
// an existing one file by file, the page last.
func writeSite(cmd *cobra.Command, folder string, r *sheet.Result) error {
	files, err := export.SiteFiles(r)
	if err != nil {
		return err
	}
	if _, err := os.Stat(folder); errors.Is(err, fs.ErrNotExist) {
		entries := make([]disk.Entry, len(files))
		for i, f := range files {
			entries[i] = disk.Entry{Name: f.Name, Data: f.Data}
		}
		err = disk.WriteFolder(folder, entries)
		if err == nil {
			fmt.Fprintln(cmd.OutOrStdout(), "wrote", folder)
		}
		return err
	}
	if err := isSite(folder); err != nil {
		return err
	}
	for _, f := range files {
		err := disk.Write(filepath.Join(folder, f.Name), func(w io.Writer) error {
			_, err := w.Write(f.Data)
			return err
		})
		if err != nil {
			return err
		}
	}
	fmt.Fprintln(cmd.OutOrStdout(), "wrote", folder)
	return nil
}

// isSite refuses a folder with anything other than a site of ours.
func isSite(folder string) error {
	found, err := os.ReadDir(folder)
	if err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(folder, "manifest.webmanifest")); err != nil && len(found) > 0 {
		return fmt.Errorf("%s holds other files: name a new folder", folder)
	}
	return nil
}

// writeTo writes r to the file of o, or to standard output.
func writeTo(cmd *cobra.Command, format export.Format, o exportOptions, r *sheet.Result) error {
	origin, err := provenance(cmd, r.Sheet, format.Extension)
	if err != nil {
		return err
	}
	options := export.Options{Table: o.table, Decimal: o.decimal, Origin: origin}
	if o.output == "-" {
		report, err := format.Write(data(cmd.OutOrStdout()), r.Sheet, r, options)
		reportFrozen(cmd, report)
		return err
	}
	report, err := exportFile(r, format, o.output, options)
	if err != nil {
		return err
	}
	reportFrozen(cmd, report)
	fmt.Fprintf(cmd.OutOrStdout(), "wrote %s\n", o.output)
	return nil
}

// exportFile writes r to a file, whole or not at all.
func exportFile(r *sheet.Result, format export.Format, file string, options export.Options) (report export.Report, err error) {
	err = disk.Write(file, func(w io.Writer) error {
		var err error
		report, err = format.Write(w, r.Sheet, r, options)
		return err
	})
	return report, err
}

// reportFrozen lists the formulas that became plain values.
func reportFrozen(cmd *cobra.Command, report export.Report) {
	p := page{w: cmd.ErrOrStderr(), width: newPage(cmd.ErrOrStderr()).width}
	for _, f := range report.Frozen {
		p.hang("", fmt.Sprintf("%s is written as a value, not as a formula: %s", f.Cell, f.Why))
	}
}

// chooseFormat returns the format called name, or without a name that of the
// file's extension.
func chooseFormat(file, name string) (export.Format, error) {
	var names, endings []string
	for _, f := range export.Formats() {
		if f.Name == name {
			return f, nil
		}
		names = append(names, f.Name)
		endings = append(endings, f.Extension)
	}
	if name != "" {
		return export.Format{}, fmt.Errorf("there is no format %q%s (there are %s)", name, didYouMean(name, names), strings.Join(names, ", "))
	}
	if f, ok := export.ByExtension(file); ok {
		return f, nil
	}
	if file == "-" {
		return export.Format{}, fmt.Errorf("standard output has no ending: say --format (%s)", strings.Join(names, ", "))
	}
	return export.Format{}, fmt.Errorf("%s ends in no known format (there are %s); --format names one", file, strings.Join(endings, " "))
}
