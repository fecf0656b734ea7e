package main

import (
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/sheet"
	"gearleaf/sheet/unit"
	"gearleaf/templates"
)

// completion returns the words that complete the current one.
type completion = func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective)

// completesFlags is false if millions of commands run in one process: cobra
// keeps every registered completion until the process ends.
var completesFlags = true

// mustComplete gives a flag its completion; a missing flag is a defect of this
// program.
func mustComplete(cmd *cobra.Command, flag string, complete completion) {
	if !completesFlags {
		return
	}
	if err := cmd.RegisterFlagCompletionFunc(flag, complete); err != nil {
		panic(err)
	}
}

// onlySheets lets the shell offer worksheets.
func onlySheets() ([]string, cobra.ShellCompDirective) {
	return []string{"leaf"}, cobra.ShellCompDirectiveFilterFileExt
}

// completeSheet offers one worksheet.
func completeSheet(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return onlySheets()
}

// completeSheets offers any number of worksheets.
func completeSheets(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return onlySheets()
}

// quietly loads the first sheet on the line, without messages.
func quietly(args []string) *sheet.Sheet {
	if len(args) == 0 {
		return nil
	}
	s, _ := sheet.Load(args[0])
	return s
}

// described is a word of a completion with its meaning.
func described(word, meaning string) string {
	if meaning == "" {
		return word
	}
	return word + "\t" + meaning
}

// completeNames offers the cells and columns of the sheet on the line.
func completeNames(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	s := quietly(args)
	if s == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var out []string
	for _, p := range s.Names() {
		if strings.HasPrefix(p.Name(), typed) {
			out = append(out, described(p.Name(), p.Quantity().Origin.Label))
		}
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

// completeSettings offers the givens of the sheet on the line, and after the
// "=" of one the values of its choice.
func completeSettings(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	s := quietly(args)
	if s == nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	if name, _, ok := strings.Cut(typed, "="); ok {
		return choices(s, name), cobra.ShellCompDirectiveNoFileComp
	}
	var out []string
	for _, p := range s.Names() {
		q := p.Quantity()
		if !q.Given || !strings.HasPrefix(p.Name(), typed) {
			continue
		}
		word := p.Name() + "="
		if p.Column != nil {
			word = p.Name() + "["
		}
		out = append(out, described(word, q.Origin.Label))
	}
	return out, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// choices are the values that the given called name may take.
func choices(s *sheet.Sheet, name string) []string {
	p, d := s.Place(name)
	if d != nil {
		return nil
	}
	var out []string
	for _, v := range p.Quantity().Choice {
		number, _ := s.Shown(p.Quantity(), v)
		out = append(out, name+"="+number)
	}
	return out
}

// completeChange offers the sheet, then settings.
func completeChange(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return onlySheets()
	}
	return completeSettings(cmd, args, typed)
}

// completeTrace offers the sheet, then one name of it.
func completeTrace(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return onlySheets()
	case 1:
		return completeNames(cmd, args, typed)
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}

// completeTemplate offers the ready worksheets, then a file of any name.
func completeTemplate(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveDefault
	}
	var out []string
	for _, t := range templates.List() {
		out = append(out, described(t.Name, t.Title))
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

// completeFunction offers the functions of the library.
func completeFunction(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	var out []string
	for _, f := range sheet.Functions() {
		out = append(out, described(f.Name, f.Meaning))
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

// completeUnit offers the predefined units.
func completeUnit(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	var out []string
	for _, row := range unit.Catalog() {
		out = append(out, described(row.Symbol, row.Meaning))
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}
