package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
)

const changeLong = `Change givens and see everything that the change affects, before and after:
first the limits whose state changed, then each value with its difference, in
the order of the sheet, tables row by row.

The sheet's file does not change. --write puts the new values into its text and
changes no other byte; a given that came from a used worksheet is overridden by
a line below the use. -o writes the changed sheet to another file, in the format
of its ending. --json prints the change as JSON:

  format, version   "gearleaf change", 1
  settings          the changed givens: name, before, after
  limits            condition, message, advise, before, after (kept, broken,
                    advised, waiting)
  values            everything reached, rows of columns each by its own name:
                    name, section, label, unit, before, after, difference and
                    percent in the shown unit, moved
  faults            after the change: origin, cause, waiting
  reached, of, moved, confirmed, evaluations

before and after are a number in the shown unit, a text, true, false, null for
a blank, or {"fault": cause}.

Exit status: 0 computed; 1 computed, but afterwards a limit is broken or a
value is at fault; 2 not computed.`

const changeExample = `  gearleaf change bike.leaf rear_sprocket=44
  gearleaf change bike.leaf rear_sprocket=44 "tyre_rollout=1990 mm" -o new.xlsx
  gearleaf change bike.leaf "gears.ratio[3]=1.52" --write`

type changeOptions struct {
	write, json, full bool
	output            string
}

func newChange() *cobra.Command {
	var o changeOptions
	cmd := &cobra.Command{
		Use:               "change SHEET NAME=QUANTITY...",
		Short:             "Change givens and see the effects, before and after",
		Long:              changeLong,
		Example:           changeExample,
		Args:              cobra.MinimumNArgs(2),
		ValidArgsFunction: completeChange,
		RunE:              func(cmd *cobra.Command, args []string) error { return change(cmd, args[0], args[1:], o) },
	}
	cmd.Flags().BoolVar(&o.write, "write", false, "put the new values into the worksheet's text")
	cmd.Flags().StringVarP(&o.output, "output", "o", "", "write the changed sheet to this `file`, in the format of its ending")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the change as JSON")
	cmd.Flags().BoolVar(&o.full, "full", false, "show every row of long tables")
	return cmd
}

func change(cmd *cobra.Command, path string, texts []string, o changeOptions) error {
	format, err := changeFormat(o.output, path)
	if err != nil {
		return err
	}
	var c *sheet.Changed
	var written []string
	err = again(cmd, path, func() error {
		if c, err = changed(cmd, path, texts, o.output); err != nil {
			return err
		}
		// Written before it is shown, because a reader that closes the pipe
		// early must not prevent the file.
		written, err = keepChange(cmd, c, format, o)
		return err
	})
	if err != nil {
		return err
	}
	if err := showChange(cmd, c, o); err != nil {
		return err
	}
	notices := cmd.OutOrStdout()
	if o.json {
		notices = cmd.ErrOrStderr() // standard output is JSON
	}
	for _, file := range written {
		fmt.Fprintf(notices, "wrote %s\n", file)
	}
	return outcome(c.After)
}

// changed loads the sheet and computes the effect of the settings.
func changed(cmd *cobra.Command, path string, texts []string, output string) (*sheet.Changed, error) {
	s, err := loadFor(cmd, path, output)
	if err != nil {
		return nil, err
	}
	given, err := settings(cmd, s, texts)
	if err != nil {
		return nil, err
	}
	return s.Change(given)
}

// changeFormat returns the format of the file to write, before anything is
// computed; without a file there is none.
func changeFormat(output, path string) (export.Format, error) {
	if output == "" {
		return export.Format{}, nil
	}
	if err := admitOutput(output, path); err != nil {
		return export.Format{}, err
	}
	return chooseFormat(output, "")
}

func showChange(cmd *cobra.Command, c *sheet.Changed, o changeOptions) error {
	if o.json {
		doc, err := export.ChangeDocument(c)
		if err != nil {
			return err
		}
		return printJSON(cmd, doc)
	}
	if o.full {
		if err := export.ReportableChange(c); err != nil {
			return err
		}
	}
	r := changeReport{page: newPage(cmd.OutOrStdout()), change: c, full: o.full}
	r.write()
	return nil
}

// keepChange writes the requested files and returns them: the export first, so
// the worksheet changes only if everything else succeeds.
func keepChange(cmd *cobra.Command, c *sheet.Changed, format export.Format, o changeOptions) ([]string, error) {
	var written []string
	if o.output != "" {
		origin, err := provenance(cmd, c.After.Sheet, o.output)
		if err != nil {
			return nil, err
		}
		report, err := exportFile(c.After, format, o.output, export.Options{Origin: origin})
		if err != nil {
			return nil, err
		}
		reportFrozen(cmd, report)
		written = append(written, o.output)
	}
	if s := c.Before.Sheet; o.write {
		if err := s.Write(c.Settings); err != nil {
			return nil, err
		}
		written = append(written, s.Path)
	}
	return written, nil
}
