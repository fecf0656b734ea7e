package main

import (
	"fmt"
	"io"

	"github.com/rogpeppe/go-internal/diff"
	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/syntax"
)

const fmtLong = `Format worksheets in the standard way: columns and the bars of tables are
aligned. Nothing is computed and no meaning changes; line ends do not change.

Without a flag the formatted text goes to standard output; --write puts it into
the file, --diff shows what would change. "-" reads standard input.

Exit status: 0; with --diff 1 if anything would change; 2 if a worksheet cannot
be read.`

const fmtExample = `  gearleaf fmt --write *.leaf
  gearleaf fmt --diff bike.leaf
  gearleaf fmt - < bike.leaf`

type fmtOptions struct{ write, diff bool }

func newFmt() *cobra.Command {
	var o fmtOptions
	cmd := &cobra.Command{
		Use:               "fmt SHEET...",
		Short:             "Format worksheets in the standard way",
		Long:              fmtLong,
		Example:           fmtExample,
		Args:              cobra.MinimumNArgs(1),
		ValidArgsFunction: completeSheets,
		RunE:              func(cmd *cobra.Command, args []string) error { return formatAll(cmd, args, o) },
	}
	cmd.Flags().BoolVar(&o.write, "write", false, "put the formatted text into the file")
	cmd.Flags().BoolVar(&o.diff, "diff", false, "show what would change")
	cmd.MarkFlagsMutuallyExclusive("write", "diff")
	return cmd
}

func formatAll(cmd *cobra.Command, paths []string, o fmtOptions) error {
	refused, differs := false, false
	for _, path := range paths {
		if path != "-" {
			if err := noSheet(cmd, path); err != nil {
				complain(cmd.ErrOrStderr(), err)
				refused = true
				continue
			}
		}
		err := again(cmd, path, func() error {
			tree, list := readTree(cmd, path)
			diagnose(cmd, list)
			if tree == nil {
				refused = true
				return nil
			}
			after := syntax.Print(tree)
			differs = differs || after != tree.File.Text
			return keepFormatted(cmd, path, tree.File.Text, after, o)
		})
		if err != nil {
			return err
		}
	}
	switch {
	case refused:
		return errRefused
	case differs && o.diff:
		return errTrouble
	}
	return nil
}

// readTree parses the worksheet at path, or standard input; nil with errors.
func readTree(cmd *cobra.Command, path string) (*syntax.Worksheet, diag.List) {
	if path != "-" {
		return sheet.ReadTree(path)
	}
	data, err := io.ReadAll(cmd.InOrStdin())
	if err != nil {
		return nil, diag.List{{Code: diag.LoadUnreadable, Message: "standard input cannot be read: " + err.Error()}}
	}
	return sheet.ParseTree("standard input", data)
}

func keepFormatted(cmd *cobra.Command, path, before, after string, o fmtOptions) error {
	out := data(cmd.OutOrStdout())
	switch {
	case o.diff:
		_, err := out.Write(diff.Diff(path, []byte(before), path+" (formatted)", []byte(after)))
		return err
	case !o.write:
		_, err := io.WriteString(out, after)
		return err
	case path == "-":
		return fmt.Errorf("standard input cannot be written back: leave out --write")
	case before == after:
		return nil
	}
	if err := disk.Replace(path, before, after); err != nil {
		return err
	}
	_, err := fmt.Fprintf(out, "wrote %s\n", path)
	return err
}
