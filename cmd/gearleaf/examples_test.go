package main

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// unending are commands that run until they are stopped, and what the machine
// may lack: their examples are run elsewhere.
var unending = regexp.MustCompile(`^gearleaf (serve|watch|lsp$)|^gearleaf man \|`)

// TestExamples types the examples of every help as written, one after
// the other, in a folder in which only the first examples have been run. An
// example that cannot be typed is no help.
func TestExamples(t *testing.T) {
	root := newRoot()
	var ask func(cmd *cobra.Command)
	ask = func(cmd *cobra.Command) {
		for _, sub := range cmd.Commands() {
			ask(sub)
		}
		if cmd.Example == "" || cmd == root {
			return
		}
		t.Run(strings.ReplaceAll(commandName(cmd), " ", "-"), func(t *testing.T) {
			t.Chdir(t.TempDir())
			typed := exampleLines(rootExample)[:1]
			if parent := cmd.Parent(); parent != root {
				typed = append(typed, exampleLines(parent.Example)...)
			}
			for _, line := range append(typed, exampleLines(cmd.Example)...) {
				typeExample(t, line)
			}
		})
	}
	ask(root)
}

// exampleLines returns the commands of an example, without remarks.
func exampleLines(text string) []string {
	text = strings.ReplaceAll(text, "\\\n", " ")
	var out []string
	for line := range strings.Lines(text) {
		if line, _, _ = strings.Cut(line, " #"); strings.TrimSpace(line) != "" {
			out = append(out, strings.TrimSpace(line))
		}
	}
	return out
}

// typeExample runs one command line and demands that it computes.
func typeExample(t *testing.T, line string) {
	t.Helper()
	if unending.MatchString(line) {
		return
	}
	words, to, from := splitLine(t, line)
	var out, errs bytes.Buffer
	if status := run(words[1:], strings.NewReader(from), &out, &errs); status == 2 {
		t.Errorf("%s\nexit status 2\n%s", line, errs.String())
	}
	if to != "" {
		if err := os.WriteFile(to, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// shellWord is a word of a command line, quoted or not.
var shellWord = regexp.MustCompile(`(?:[^\s"]|"[^"]*")+`)

// splitLine does what a shell does with an example: words, quotes, *.leaf, and
// files for standard input and output.
func splitLine(t *testing.T, line string) (words []string, to, from string) {
	t.Helper()
	all := shellWord.FindAllString(line, -1)
	for i := 0; i < len(all); i++ {
		word := strings.ReplaceAll(all[i], `"`, "")
		switch {
		case word == ">":
			i++
			to = all[i]
		case word == "<":
			i++
			text, err := os.ReadFile(all[i])
			if err != nil {
				t.Fatal(err)
			}
			from = string(text)
		case word == "*.leaf":
			words = append(words, "bike.leaf")
		default:
			words = append(words, word)
		}
	}
	return words, to, from
}
