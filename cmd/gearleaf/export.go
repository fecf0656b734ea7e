package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/disk"
)

const exportLong = `Write a computed worksheet for other programs. The format is what FILE ends in,
or what --format says; "-" writes to standard output. FILE is written whole or
not at all.

Formats:
%s
Every number is confirmed by the second evaluator before it is written. What a
format could not carry as a live formula is told on standard error.

Exit status: 0; 1 where a limit is broken or a value is at fault (the file is
written); 2 not computed or not written.`

const exportExample = `  gearleaf export bike.leaf -o bike.xlsx
  gearleaf export bike.leaf -o gears.csv --table gears
  gearleaf export bike.leaf --format json -o -`

type exportOptions struct {
	output, format, table string
	set                   []string
}

func newExport() *cobra.Command {
	var o exportOptions
	cmd := &cobra.Command{
		Use:               "export SHEET -o FILE",
		Short:             "Write a worksheet as a workbook, CSV, JSON or Markdown",
		Long:              fmt.Sprintf(exportLong, formatLines()),
		Example:           exportExample,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeSheet,
		RunE:              func(cmd *cobra.Command, args []string) error { return exportSheet(cmd, args[0], o) },
	}
	cmd.Flags().StringVarP(&o.output, "output", "o", "", "the `file` to write, or - for standard output")
	cmd.Flags().StringVar(&o.format, "format", "", "the format's `name`, where the ending does not say it")
	cmd.Flags().StringVar(&o.table, "table", "", "write this `table` alone, in CSV")
	cmd.Flags().StringArrayVar(&o.set, "set", nil, "`name=quantity`: another value for a given, this once")
	mustComplete(cmd, "format", completeFormat)
	mustComplete(cmd, "set", completeSettings)
	if err := cmd.MarkFlagRequired("output"); err != nil {
		panic(err)
	}
	return cmd
}

// formatLines lists the formats for the help.
func formatLines() string {
	var out strings.Builder
	for _, f := range export.Formats() {
		fmt.Fprintf(&out, "  %s %s %s\n", padRight(f.Name, 10), padRight(f.Extension, 6), f.Meaning)
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
	format, err := chooseFormat(o.output, o.format)
	if err != nil {
		return err
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
	if err := writeTo(cmd, format, o, r); err != nil {
		return err
	}
	return outcome(r)
}

// writeTo writes r to the file of o, or to standard output.
func writeTo(cmd *cobra.Command, format export.Format, o exportOptions, r *sheet.Result) error {
	options := export.Options{Table: o.table}
	if o.output == "-" {
		report, err := format.Write(data(cmd.OutOrStdout()), r.Sheet, r, options)
		tellReport(cmd, report)
		return err
	}
	report, err := exportFile(r, format, o.output, options)
	if err != nil {
		return err
	}
	tellReport(cmd, report)
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

// tellReport says which formulas became plain values.
func tellReport(cmd *cobra.Command, report export.Report) {
	p := page{w: cmd.ErrOrStderr(), width: newPage(cmd.ErrOrStderr()).width}
	for _, f := range report.Frozen {
		p.hang("", fmt.Sprintf("%s is written as a value, not as a formula: %s", f.Cell, f.Why))
	}
}

// chooseFormat returns the format called name, or without a name the one that
// file ends in.
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
