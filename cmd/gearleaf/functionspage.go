package main

import (
	"fmt"
	"io"
	"strings"

	"gearleaf/sheet"
)

const functionsIntro = `
What a worksheet can call, by subject. A parameter names a unit, which says what it measures; any other unit of the
same measure may be used, but not a gauge value for an absolute one, a difference for a temperature or a share by
volume for one by mass. Leaving what a function is valid for is an advice on the cell. Examples are computed.

This page is what ` + "`gearleaf functions --markdown`" + ` prints.
`

// functionsMarkdown writes list as a page of Markdown with computed examples;
// for the whole library with a table of contents and its figures.
func functionsMarkdown(w io.Writer, list []sheet.Function, whole bool) error {
	fmt.Fprint(w, "# Functions\n")
	if whole {
		fmt.Fprint(w, functionsIntro)
		markdownContents(w, list)
	}
	subject := ""
	for _, f := range list {
		if f.Subject != subject {
			subject = f.Subject
			fmt.Fprintf(w, "\n## %s\n", subject)
			if whole {
				markdownFigures(w, subject)
			}
		}
		if err := markdownFunction(w, f); err != nil {
			return err
		}
	}
	return nil
}

// markdownContents writes a table of contents, one row per subject.
func markdownContents(w io.Writer, list []sheet.Function) {
	fmt.Fprint(w, "\n| subject | functions |\n|---|---|")
	subject := ""
	for i, f := range list {
		if f.Subject != subject {
			subject = f.Subject
			if i > 0 {
				fmt.Fprint(w, " |")
			}
			fmt.Fprintf(w, "\n| [%s](#%s) |", subject, subject)
		}
		fmt.Fprintf(w, " [%s](#%s)", f.Name, f.Name)
	}
	fmt.Fprint(w, " |\n")
}

// markdownFigures writes the constants and tables of a subject as in the
// library.
func markdownFigures(w io.Writer, subject string) {
	var lines []string
	for _, f := range sheet.Figures() {
		if f.Subject != subject {
			continue
		}
		if f.Note != "" && len(lines) > 0 {
			lines = append(lines, "")
		}
		for line := range strings.Lines(f.Note) {
			lines = append(lines, strings.TrimRight("# "+line, " \n"))
		}
		lines = append(lines, strings.Split(f.Text, "\n")...)
	}
	if len(lines) > 0 {
		text := strings.Join(lines, "\n    ")
		fmt.Fprintf(w, "\nFigures:\n\n    %s\n", strings.ReplaceAll(text, "    \n", "\n"))
	}
}

// markdownFunction writes one function in full.
func markdownFunction(w io.Writer, f sheet.Function) error {
	fmt.Fprintf(w, "\n### %s\n\n%s\n\n    %s\n", f.Name, strings.TrimSpace(f.Meaning+"\n"+f.Note), f.Usage)
	if f.Why != "" {
		fmt.Fprintf(w, "\nNot a formula: %s\n", f.Why)
	}
	if len(f.Steps) > 0 {
		fmt.Fprintf(w, "\n    %s\n", strings.Join(f.Steps, "\n    "))
	}
	for _, v := range f.Valid {
		fmt.Fprintf(w, "\nValid: `%s`\n", v)
	}
	for _, s := range f.Sources {
		fmt.Fprintf(w, "\nSource: %s\n", s)
	}
	for _, e := range f.Example {
		result, err := sheet.Worked(e)
		if err != nil {
			return fmt.Errorf("example %s: %w", e, err)
		}
		if strings.Contains(e, "\n") {
			fmt.Fprintf(w, "\nExample:\n\n    %s = %s\n", strings.ReplaceAll(e, "\n", "\n    "), result)
			continue
		}
		fmt.Fprintf(w, "\nExample: `%s` = %s\n", e, result)
	}
	return nil
}
