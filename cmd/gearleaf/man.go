package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

const manLong = `Print the manual page of a command, or of gearleaf itself, for the program man.
It contains the text of --help. A release has a page for every command.`

const manExample = `  gearleaf man calc > gearleaf-calc.1
  gearleaf man | man -l -`

func newMan() *cobra.Command {
	return &cobra.Command{
		Use:               "man [COMMAND...]",
		Short:             "Print the manual page of a command",
		Long:              manLong,
		Example:           manExample,
		Args:              cobra.ArbitraryArgs,
		ValidArgsFunction: completeCommands,
		RunE: func(cmd *cobra.Command, args []string) error {
			found, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return noCommand(found, strings.Join(rest, " "))
			}
			return manualPage(data(cmd.OutOrStdout()), found)
		},
	}
}

// completeCommands offers the commands below those on the line.
func completeCommands(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	found, _, err := cmd.Root().Find(args)
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return commandNames(found), cobra.ShellCompDirectiveNoFileComp
}

func commandNames(of *cobra.Command) []string {
	var out []string
	for _, c := range of.Commands() {
		if c.IsAvailableCommand() {
			out = append(out, c.Name())
		}
	}
	return out
}

// manualPage writes the page of c in the language of man.
func manualPage(w io.Writer, c *cobra.Command) error {
	var b strings.Builder
	name := strings.ReplaceAll(c.CommandPath(), " ", "-")
	fmt.Fprintf(&b, ".TH %s 1 \"\" \"gearleaf %s\" \"Gearleaf\"\n", strings.ToUpper(name), programVersion())
	fmt.Fprintf(&b, ".SH NAME\n%s \\- %s\n", roff(name), roff(c.Short))
	fmt.Fprintf(&b, ".SH SYNOPSIS\n.nf\n%s\n.fi\n", roff(c.UseLine()))
	long := c.Long
	if long == "" {
		long = c.Short
	}
	fmt.Fprintf(&b, ".SH DESCRIPTION\n.nf\n%s\n.fi\n", roff(long))
	b.WriteString(".SH OPTIONS\n")
	c.NonInheritedFlags().VisitAll(func(f *pflag.Flag) { manualFlag(&b, f) })
	if !c.HasParent() {
		b.WriteString(".SH COMMANDS\n")
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() {
				fmt.Fprintf(&b, ".TP\n.BR gearleaf\\-%s (1)\n%s\n", roff(sub.Name()), roff(sub.Short))
			}
		}
	}
	if c.Example != "" {
		fmt.Fprintf(&b, ".SH EXAMPLES\n.nf\n%s\n.fi\n", roff(c.Example))
	}
	if c.HasParent() {
		b.WriteString(".SH SEE ALSO\n.BR gearleaf (1)\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func manualFlag(b *strings.Builder, f *pflag.Flag) {
	if f.Hidden {
		return
	}
	what, usage := pflag.UnquoteUsage(f)
	name := "--" + f.Name
	if f.Shorthand != "" {
		name = "-" + f.Shorthand + ", " + name
	}
	fmt.Fprintf(b, ".TP\n\\fB%s\\fR \\fI%s\\fR\n%s\n", roff(name), roff(what), roff(usage))
}

// roff escapes text.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(text)
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, ".") || strings.HasPrefix(line, "'") {
			lines[i] = `\&` + line
		}
	}
	return strings.Join(lines, "\n")
}
