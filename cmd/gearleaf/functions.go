package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/export"
	"gearleaf/sheet"
)

const functionsLong = `List the functions of the formula library by subject. With the name of one, show
its formula, the units of its arguments and result, its source, its valid range,
and worked examples, computed now. With any other word, show the functions that
mention it: in full if there are few, otherwise as a list; --full shows every
one in full. With the name of a table or a constant of the library, show its
figures.

--json prints the same as JSON: format "gearleaf functions", version 1, and
functions with name, subject, usage, meaning, note, sources, valid, steps, why,
examples (call, result). --markdown prints the reference as one page, the
library's figures included.`

const functionsExample = `  gearleaf functions
  gearleaf functions road_speed
  gearleaf functions afr
  gearleaf functions fuels
  gearleaf functions --markdown > functions.md`

type functionsOptions struct{ markdown, json, full bool }

// fewFunctions is the largest number of found functions that are shown in full.
const fewFunctions = 12

func newFunctions() *cobra.Command {
	var o functionsOptions
	cmd := &cobra.Command{
		Use:               "functions [NAME | WORD]",
		Short:             "List the formula library, or explain one function",
		Long:              functionsLong,
		Example:           functionsExample,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeFunction,
		RunE: func(cmd *cobra.Command, args []string) error {
			return functions(cmd, strings.Join(args, ""), o)
		},
	}
	cmd.Flags().BoolVar(&o.full, "full", false, "show every function in full")
	cmd.Flags().BoolVar(&o.markdown, "markdown", false, "print the reference as Markdown")
	cmd.Flags().BoolVar(&o.json, "json", false, "print the reference as JSON")
	cmd.MarkFlagsMutuallyExclusive("markdown", "json", "full")
	return cmd
}

func functions(cmd *cobra.Command, word string, o functionsOptions) error {
	found, exact := findFunctions(word)
	p := newPage(cmd.OutOrStdout())
	if p.figure(word) {
		return nil
	}
	if len(found) == 0 {
		return fmt.Errorf("no function mentions %q%s", word, nearOr(word, functionNames(), "gearleaf functions lists them"))
	}
	switch {
	case o.json:
		doc, err := export.FunctionsDocument(found)
		if err != nil {
			return err
		}
		return printJSON(cmd, doc)
	case o.markdown:
		return functionsMarkdown(data(p.w), found, word == "")
	case exact, o.full, word != "" && len(found) <= fewFunctions:
		return p.functionsWhole(found)
	}
	p.functionList(found)
	fmt.Fprintln(p.w)
	p.hang("", "gearleaf functions NAME shows one of them in full, --full every one.")
	return nil
}

// figure shows the table or the constant of the library called name, if there
// is one.
func (p page) figure(name string) bool {
	for _, f := range sheet.Figures() {
		if f.Name != name {
			continue
		}
		fmt.Fprintln(p.w, p.bold(f.Name)+", "+f.Subject)
		for line := range strings.Lines(f.Note) {
			fmt.Fprintln(p.w, strings.TrimRight("  "+line, " \n"))
		}
		fmt.Fprintf(p.w, "\n%s\n", f.Text)
		return true
	}
	return false
}

// functionsWhole writes every function of list in full.
func (p page) functionsWhole(list []sheet.Function) error {
	for i, f := range list {
		if i > 0 {
			fmt.Fprintln(p.w)
		}
		if err := p.function(f); err != nil {
			return err
		}
	}
	return nil
}

// findFunctions returns the functions called word, or all that mention it.
func findFunctions(word string) (found []sheet.Function, exact bool) {
	all := sheet.Functions()
	for _, f := range all {
		if f.Name == word {
			found = append(found, f) // min and max have two entries each
		}
	}
	if len(found) > 0 {
		return found, true
	}
	needle := strings.ToLower(word)
	for _, f := range all {
		text := strings.ToLower(f.Name + " " + f.Subject + " " + f.Meaning + " " + f.Usage)
		if strings.Contains(text, needle) || strings.Contains(strings.ReplaceAll(text, "_", " "), needle) {
			found = append(found, f)
		}
	}
	return found, false
}

func functionNames() []string {
	var names []string
	for _, f := range sheet.Functions() {
		names = append(names, f.Name)
	}
	return names
}

// functionList writes one line per function, grouped by subject.
func (p page) functionList(list []sheet.Function) {
	subject := ""
	for _, f := range list {
		if f.Subject != subject {
			if subject != "" {
				fmt.Fprintln(p.w)
			}
			subject = f.Subject
			fmt.Fprintln(p.w, p.bold(subject))
		}
		p.hangingTerm(f.Name, f.Meaning)
	}
}

// hangingTerm writes a name and its meaning beside it; a long name has its
// meaning below.
func (p page) hangingTerm(name, meaning string) {
	const wide = 30
	head := blanks(indent) + padRight(name, wide)
	if width(name) > wide-1 {
		fmt.Fprintln(p.w, strings.TrimRight(head, " "))
		head = blanks(indent + wide)
	}
	for _, part := range wrap(meaning, p.width-indent-wide) {
		fmt.Fprintln(p.w, strings.TrimRight(head+part, " "))
		head = blanks(indent + wide)
	}
}

// function writes one function in full.
func (p page) function(f sheet.Function) error {
	p.hang("", p.bold(f.Usage))
	p.hang("  ", f.Meaning)
	if f.Note != "" {
		p.hang("  ", f.Note)
	}
	if f.Why != "" {
		fmt.Fprintln(p.w)
		p.hang("  ", "Not a formula: "+f.Why)
	}
	if len(f.Steps) > 0 {
		fmt.Fprintln(p.w)
	}
	for _, s := range f.Steps {
		p.hang("  ", s)
	}
	p.functionLines("Valid", f.Valid)
	p.functionLines("Source", f.Sources)
	return p.examples(f)
}

func (p page) functionLines(head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(p.w, "\n%s\n", p.bold(head))
	for _, l := range lines {
		p.hang("  ", l)
	}
}

func (p page) examples(f sheet.Function) error {
	if len(f.Example) == 0 {
		return nil
	}
	fmt.Fprintf(p.w, "\n%s\n", p.bold("Example"))
	for _, e := range f.Example {
		result, err := sheet.Worked(e)
		if err != nil {
			return fmt.Errorf("example %s: %w", e, err)
		}
		lines := strings.Split(e, "\n")
		for _, line := range lines[:len(lines)-1] {
			fmt.Fprintln(p.w, "  "+line)
		}
		p.hang("  ", lines[len(lines)-1])
		p.hang("    ", "= "+result)
	}
	return nil
}
