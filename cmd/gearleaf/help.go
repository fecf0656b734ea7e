package main

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// layHelp fits the help of a command and its subcommands to the width of the
// terminal.
func layHelp(root *cobra.Command) {
	cobra.AddTemplateFunc("options", func(cmd *cobra.Command, of *pflag.FlagSet) string {
		return strings.TrimRight(of.FlagUsagesWrapped(newPage(cmd.OutOrStdout()).width), " \n")
	})
	root.SetUsageTemplate(strings.NewReplacer(
		".LocalFlags.FlagUsages | trimTrailingWhitespaces", "options . .LocalFlags",
		".InheritedFlags.FlagUsages | trimTrailingWhitespaces", "options . .InheritedFlags",
	).Replace(root.UsageTemplate()))
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) {
		p := newPage(cmd.OutOrStdout())
		p.prose(cmd.Long)
		fmt.Fprintln(p.w)
		io.WriteString(p.w, cmd.UsageString())
	})
}

// entryLine is a line of a list: a word, and its meaning beside it.
var entryLine = regexp.MustCompile(`^( +\S+(?: \S+)*)  +(\S.*)$`)

// prose writes the text of a help, which is formatted for 80 columns, in
// paragraphs of the page's width. Lists keep their shape.
func (p page) prose(text string) {
	p.width = min(p.width, pipedWidth)
	lines := strings.Split(text, "\n")
	for len(lines) > 0 {
		line := lines[0]
		entry := entryLine.FindStringSubmatch(line)
		n := 1
		switch {
		case strings.TrimSpace(line) == "":
			fmt.Fprintln(p.w)
		case entry != nil:
			at := len(line) - len(entry[2])
			n += leading(lines[1:], func(next string) bool { return margin(next) == at })
			p.entry(entry[1], at, strings.Join(append([]string{entry[2]}, lines[1:n]...), " "))
		case margin(line) > 0:
			fmt.Fprintln(p.w, line)
		default:
			n += leading(lines[1:], func(next string) bool { return next != "" && margin(next) == 0 })
			p.hang("", strings.Join(lines[:n], " "))
		}
		lines = lines[n:]
	}
}

// entry writes a word and its meaning from a column on; below it if there is no
// room beside it.
func (p page) entry(word string, at int, meaning string) {
	if p.width-at < 2*leastNote {
		fmt.Fprintln(p.w, word)
		p.hang(blanks(2*indent+2), meaning)
		return
	}
	for _, part := range wrap(meaning, p.width-at) {
		fmt.Fprintln(p.w, padRight(word, at)+part)
		word = ""
	}
}

// leading counts the first lines for which in is true.
func leading(lines []string, in func(string) bool) int {
	for i, line := range lines {
		if !in(line) {
			return i
		}
	}
	return len(lines)
}

// margin counts the blanks before a line.
func margin(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }
