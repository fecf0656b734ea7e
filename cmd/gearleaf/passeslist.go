package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
	"gearleaf/sheet/passbook"
)

const passesListLong = `Show a book of passes, and which of its lines have been altered.

With --sheet, only the passes made with that worksheet as it is now. SHA-256
sums are shown by their first eight letters.

-o FILE writes the listed passes, one per line: .csv, .xlsx with charts, .json,
or .parquet, in which a column with numbers only has a numeric type. A result at
fault is blank there; the column fault names it.

--json prints format "gearleaf passes" with head, and lines: line, fields by
name, faults (the names of results at fault), problem, missing.`

type passesListOptions struct {
	sheet  string
	output string
	json   bool
}

func newPassesList() *cobra.Command {
	var o passesListOptions
	cmd := &cobra.Command{
		Use:   "list BOOK.csv",
		Short: "Show a book of passes",
		Long:  passesListLong,
		Example: `  gearleaf passes list book.csv --sheet quarter-mile.leaf
  gearleaf passes list book.csv -o book.parquet`,
		Args: cobra.ExactArgs(1),
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return []string{"csv"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error { return passesList(cmd, args[0], o) },
	}
	cmd.Flags().StringVar(&o.sheet, "sheet", "", "only passes made with this `worksheet` as it is now")
	cmd.Flags().StringVarP(&o.output, "output", "o", "", outputUsage)
	cmd.Flags().BoolVar(&o.json, "json", false, "print the book as JSON")
	mustComplete(cmd, "sheet", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) { return onlySheets() })
	return cmd
}

func passesList(cmd *cobra.Command, path string, o passesListOptions) error {
	var made *sheet.Sheet
	var reads []string
	if o.sheet != "" {
		var err error
		if made, err = loadFor(cmd, o.sheet, o.output); err != nil {
			return err
		}
		reads = made.Reads()
	}
	if err := admitPasses(path, o.output, reads); err != nil {
		return err
	}
	b, err := passbook.Read(path)
	if err != nil {
		return err
	}
	lines := b.Lines
	if made != nil {
		if lines, err = madeWith(b, made); err != nil {
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
	if o.output != "" {
		from := export.Origin{Format: "gearleaf passes", Program: programVersion(), More: [][2]string{{"book", filepath.Base(path)}}}
		if err := writeAnswer(cmd, answerOptions{output: o.output, json: o.json}, export.PassesAnswer(b, lines), from); err != nil {
			return err
		}
	}
	for _, l := range lines {
		if l.Problem != "" || l.Missing != "" {
			return errTrouble
		}
	}
	return nil
}

// admitPasses refuses a file that must not or cannot be written; reads are the
// files that are read besides the book.
func admitPasses(book, output string, reads []string) error {
	if output == "" {
		return nil
	}
	if _, err := export.AnswerKind(output); err != nil {
		return err
	}
	if sameFile(book, output) {
		return fmt.Errorf("%s is the book itself: give another file to write", output)
	}
	return admitOutput(output, reads...)
}

// madeWith returns the lines of passes that were made with a worksheet.
func madeWith(b *passbook.Book, s *sheet.Sheet) ([]passbook.Line, error) {
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

// writePasses prints the book as a table, with the problems below.
func writePasses(p page, b *passbook.Book, lines []passbook.Line) {
	var columns []*gridColumn
	for c, name := range b.Head {
		sum := strings.HasSuffix(name, "sha256")
		g := &gridColumn{head: export.MarkHead(name), left: sum}
		for _, l := range lines {
			if l.Problem != "" {
				continue
			}
			text := l.Fields[c]
			if sum && len(text) == 64 {
				text = text[:8]
			}
			_, err := strconv.ParseFloat(text, 64)
			g.fields, g.left = append(g.fields, cut(text, 40)), g.left || text != "" && err != nil
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
