package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/passbook"
)

const passesListLong = `Show a book of passes, and which of its lines have been altered.

With --sheet, only the passes made with that worksheet as it is now. SHA-256
sums are shown by their first eight letters.

--json prints format "gearleaf passes" with head, and lines: line, fields by
name, problem, missing.`

type passesListOptions struct {
	sheet string
	json  bool
}

func newPassesList() *cobra.Command {
	var o passesListOptions
	cmd := &cobra.Command{
		Use:     "list BOOK.csv",
		Short:   "Show a book of passes",
		Long:    passesListLong,
		Example: "  gearleaf passes list book.csv --sheet quarter-mile.leaf",
		Args:    cobra.ExactArgs(1),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return []string{"csv"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error { return passesList(cmd, args[0], o) },
	}
	cmd.Flags().StringVar(&o.sheet, "sheet", "", "only passes made with this `worksheet` as it is now")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the book as JSON")
	mustComplete(cmd, "sheet", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) { return onlySheets() })
	return cmd
}

func passesList(cmd *cobra.Command, path string, o passesListOptions) error {
	b, err := passbook.Read(path)
	if err != nil {
		return err
	}
	lines := b.Lines
	if o.sheet != "" {
		if lines, err = madeWith(cmd, b, o.sheet); err != nil {
			return err
		}
	}
	if o.json {
		err = printJSON(cmd, export.PassesDocument(b, lines))
	} else {
		writePasses(newPage(cmd.OutOrStdout()), b, lines)
	}
	if err != nil {
		return err
	}
	for _, l := range lines {
		if l.Problem != "" || l.Missing != "" {
			return errTrouble
		}
	}
	return nil
}

// madeWith returns the lines of passes that were made with a worksheet.
func madeWith(cmd *cobra.Command, b *passbook.Book, path string) ([]passbook.Line, error) {
	s, err := load(cmd, path)
	if err != nil {
		return nil, err
	}
	parts, err := s.Parts()
	if err != nil {
		return nil, err
	}
	hash, at := sheet.Hash(parts), slices.Index(b.Head, "sheet sha256")
	var out []passbook.Line
	for _, l := range b.Lines {
		if l.Problem == "" && at >= 0 && l.Fields[at] == hash {
			out = append(out, l)
		}
	}
	return out, nil
}

// writePasses prints the book as a table, and what is wrong below.
func writePasses(p page, b *passbook.Book, lines []passbook.Line) {
	var columns []*gridColumn
	for c, name := range b.Head {
		g := &gridColumn{head: name}
		for _, l := range lines {
			if l.Problem != "" {
				continue
			}
			text := l.Fields[c]
			if len(text) == 64 && len(name) > 6 && name[len(name)-6:] == "sha256" {
				text = text[:8]
			}
			g.fields = append(g.fields, cut(text, 40))
			g.left = g.left || text != "" && !isNumber(text)
		}
		if len(g.fields) > 0 {
			columns = append(columns, g)
		}
	}
	if len(columns) > 0 {
		p.grid(columns, 0)
	} else {
		fmt.Fprintln(p.w, "no passes")
	}
	for _, l := range lines {
		switch at := fmt.Sprintf("%s:%d: ", b.Path, l.At); {
		case l.Problem != "":
			p.finding("line", p.alarm, at+l.Problem)
		case l.Missing != "":
			p.finding("line", p.warn, at+l.Missing)
		}
	}
}
