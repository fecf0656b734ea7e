package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

const checkLong = `Check worksheets without computing them: syntax, names, units, kinds of pressure
and temperature, and cycles. All errors are reported together, each with its
place and a correction.

--repair offers the known repairs one at a time, with the line before and after
each: a digit selects a repair, s or Enter skips the line, q leaves everything
unchanged. The file is written once at the end, whole or not at all, and then
checked again. Repairs in a used worksheet are offered when that worksheet is
checked.

Exit status: 0 no errors; 1 the file of a table cannot be read; 2 an error was
found.`

const checkExample = `  gearleaf check bike.leaf
  gearleaf check *.leaf
  gearleaf check --repair bike.leaf`

func newCheck() *cobra.Command {
	var repair bool
	cmd := &cobra.Command{
		Use:               "check SHEET...",
		Short:             "Find what is wrong in worksheets, and offer repairs",
		Long:              checkLong,
		Example:           checkExample,
		Args:              cobra.MinimumNArgs(1),
		ValidArgsFunction: completeSheets,
		RunE: func(cmd *cobra.Command, args []string) error {
			return checkAll(cmd, args, repair)
		},
	}
	cmd.Flags().BoolVar(&repair, "repair", false, "offer repairs, one key each")
	return cmd
}

func checkAll(cmd *cobra.Command, paths []string, repair bool) error {
	refused, unread := false, false
	keys := newKeys(cmd.InOrStdin())
	for _, path := range paths {
		if err := noSheet(cmd, path); err != nil {
			complain(cmd.ErrOrStderr(), err)
			refused = true
			continue
		}
		s, list := sheet.Load(path)
		if repair {
			if err := repairAll(cmd, path, list, keys); err != nil {
				return err
			}
			s, list = sheet.Load(path)
		}
		diagnose(cmd, list)
		refused = refused || s == nil
		fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", path, verdict(list))
		if s != nil {
			unread = reportUnread(cmd, s) || unread
		}
	}
	switch {
	case refused:
		return errRefused
	case unread:
		return errTrouble
	}
	return nil
}

// reportUnread names the tables whose file could not be read, and reports whether
// there are any.
func reportUnread(cmd *cobra.Command, s *sheet.Sheet) bool {
	unread := false
	p := newPage(cmd.OutOrStdout())
	for _, t := range s.Model.Tables {
		if t.Fault != "" && !t.Library {
			unread = true
			p.finding("FAULT", p.alarm, t.Name+": "+t.Fault)
		}
	}
	return unread
}

// verdict counts the errors and advices.
func verdict(list diag.List) string {
	errors, advices := 0, 0
	for _, d := range list {
		if d.Severity == diag.Error {
			errors++
		} else {
			advices++
		}
	}
	switch {
	case errors == 0 && advices == 0:
		return "nothing found"
	case advices == 0:
		return count(errors, "error")
	case errors == 0:
		return count(advices, "advice")
	}
	return count(errors, "error") + ", " + count(advices, "advice")
}

// count writes n with a noun.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
