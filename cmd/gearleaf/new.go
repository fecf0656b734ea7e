package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"gearleaf/sheet/disk"
	"gearleaf/templates"
)

const newLong = `Write a ready worksheet to start from. Without a name, list the worksheets.

FILE is TEMPLATE.leaf in this folder unless another name is given; a name
without an ending gets .leaf. "-" writes to standard output. A file that exists
is never overwritten without --force, and a file is written whole or not at all.

A worksheet that uses others, or reads a table from a file, is written with
them, and the command says so. A used file that exists beside FILE is not
changed, even with --force.

The figures in the templates are invented; replace them with your own.`

const newExample = `  gearleaf new
  gearleaf new sprocket-change
  gearleaf new sprocket-change saturday.leaf
  gearleaf new set-up-book`

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

// term prints a word and its meaning beside it.
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
		return fmt.Errorf("there is no template %q%s", name, nearOr(name, names, "gearleaf new lists them"))
	}
	if file == "-" {
		_, err := io.WriteString(data(cmd.OutOrStdout()), t.Text)
		return err
	}
	if err := otherKind(cmd, file); err != nil {
		return err
	}
	if filepath.Ext(file) == "" {
		file += ".leaf"
	}
	if _, err := os.Lstat(file); err == nil && !force {
		return fmt.Errorf("%s exists and was left as it is; give another name, or --force to overwrite it", file)
	}
	if err := writeText(file, t.Text); err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "wrote %s; next: gearleaf calc %s\n", file, file)
	return writeBeside(out, file, t.Beside)
}

// writeBeside writes the files that a worksheet needs beside it. Existing files
// belong to the user and are kept.
func writeBeside(out io.Writer, sheet string, files []templates.File) error {
	for _, f := range files {
		path := filepath.Join(filepath.Dir(sheet), f.Name)
		if _, err := os.Lstat(path); err == nil {
			fmt.Fprintf(out, "%s exists and was left as it is\n", path)
			continue
		}
		if err := writeText(path, f.Text); err != nil {
			return err
		}
		fmt.Fprintf(out, "wrote %s, which it needs\n", path)
	}
	return nil
}

func writeText(file, text string) error {
	return disk.Write(file, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}
