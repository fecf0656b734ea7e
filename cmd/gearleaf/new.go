package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/templates"
)

const newLong = `Write a ready worksheet to start from. Without a name, list those there are.

FILE is TEMPLATE.leaf in this folder unless another name is given; "-" writes
to standard output. A file that exists is never overwritten without --force,
and a file is written whole or not at all.

The figures in the templates are invented; replace them with your own.`

const newExample = `  gearleaf new
  gearleaf new sprocket-change
  gearleaf new sprocket-change saturday.leaf`

func newNew() *cobra.Command {
	var force bool
	cmd := &cobra.Command{
		Use:               "new [TEMPLATE [FILE]]",
		Short:             "Start a worksheet from a template, or list the templates",
		Long:              newLong,
		Example:           newExample,
		Args:              cobra.MaximumNArgs(2),
		ValidArgsFunction: completeTemplate,
		RunE: func(cmd *cobra.Command, args []string) error {
			switch len(args) {
			case 0:
				listTemplates(newPage(cmd.OutOrStdout()))
				return nil
			case 1:
				args = append(args, args[0]+".leaf")
			}
			return newSheet(cmd, args[0], args[1], force)
		},
	}
	cmd.Flags().BoolVar(&force, "force", false, "overwrite FILE if it exists")
	return cmd
}

func listTemplates(p page) {
	wide := 0
	for _, t := range templates.List() {
		wide = max(wide, width(t.Name))
	}
	for _, t := range templates.List() {
		p.term(t.Name, wide, t.Title)
	}
}

// term prints a word and what it means, hanging beside it.
func (p page) term(word string, wide int, meaning string) {
	head := padRight(p.bold(word), 0) + blanks(wide-width(word)) + "  "
	for _, part := range wrap(meaning, p.width-wide-2) {
		fmt.Fprintln(p.w, head+part)
		head = blanks(wide + 2)
	}
}

func newSheet(cmd *cobra.Command, name, file string, force bool) error {
	t, ok := templates.Find(name)
	if !ok {
		var names []string
		for _, t := range templates.List() {
			names = append(names, t.Name)
		}
		return fmt.Errorf("there is no template %q%s; gearleaf new lists them", name, didYouMean(name, names))
	}
	write := func(w io.Writer) error {
		_, err := io.WriteString(w, t.Text)
		return err
	}
	if file == "-" {
		return write(cmd.OutOrStdout())
	}
	if _, err := os.Lstat(file); err == nil && !force {
		return fmt.Errorf("%s exists and was left as it is; give another name, or --force to overwrite it", file)
	}
	if err := sheet.WriteWhole(file, write); err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "wrote %s; next: gearleaf calc %s\n", file, file)
	return nil
}
