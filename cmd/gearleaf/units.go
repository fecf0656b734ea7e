package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/unit"
)

const unitsLong = `List the units of worksheets, by subject. With the name of a unit, or any
compound such as "lb/(hp.h)", show what it measures, its definition and the
publication of its factor.

Bare psi and bar are refused, because they do not say whether a pressure is
absolute or relative; the error names the units to choose from.`

const unitsExample = `  gearleaf units
  gearleaf units inHg
  gearleaf units "lb/(hp.h)"`

func newUnits() *cobra.Command {
	return &cobra.Command{
		Use:               "units [UNIT]",
		Short:             "List the units, or explain one",
		Long:              unitsLong,
		Example:           unitsExample,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeUnit,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				newPage(cmd.OutOrStdout()).unitList()
				return nil
			}
			return explainUnit(cmd, args[0])
		},
	}
}

// unitList writes one line per unit, grouped by subject.
func (p page) unitList() {
	subject := ""
	for _, row := range unit.Catalog() {
		if row.Subject != subject {
			if subject != "" {
				fmt.Fprintln(p.w)
			}
			subject = row.Subject
			fmt.Fprintln(p.w, p.bold(subject))
		}
		names := strings.Join(append([]string{row.Symbol}, row.Aliases...), " ")
		head := blanks(indent) + padRight(names, 16) + "  "
		for _, part := range wrap(row.Meaning, p.width-indent-18) {
			fmt.Fprintln(p.w, head+part)
			head = blanks(indent + 18)
		}
	}
}

func explainUnit(cmd *cobra.Command, text string) error {
	system := unit.NewSystem()
	u, problem := system.Parse(text)
	if problem != nil {
		return refuse(cmd, diag.Diagnostic{
			Code: diag.Code(problem.Code), Message: problem.Message, Help: unitHelp(problem),
		})
	}
	p := newPage(cmd.OutOrStdout())
	fmt.Fprintf(p.w, "%s\n  %s\n", p.bold(text), system.Describe(u.Measure))
	fmt.Fprintf(p.w, "  %s\n", unitFormula(text, u, system.Compose(u.Measure)))
	for _, row := range unit.Catalog() {
		if row.Symbol == text || slices.Contains(row.Aliases, text) {
			p.hang("  ", row.Meaning)
			p.hang("  ", "Source: "+row.Source)
		}
	}
	return nil
}

// unitFormula writes the conversion of u to SI.
func unitFormula(text string, u unit.Unit, si string) string {
	if u.Offset != 0 {
		sign, offset := "+", u.Offset
		if offset < 0 {
			sign, offset = "-", -offset
		}
		return fmt.Sprintf("x %s = (x %s %s) * %s %s", text, sign, number(offset), number(u.Scale), si)
	}
	return strings.TrimRight(fmt.Sprintf("1 %s = %s %s", text, number(u.Scale), si), " ")
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }

// unitHelp writes the correction of an unknown or ambiguous unit.
func unitHelp(problem *unit.ParseError) string {
	if problem.Help != "" || len(problem.Repairs) == 0 {
		return problem.Help
	}
	return "write " + strings.Join(problem.Repairs, " or ")
}
