package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"gearleaf/sheet"
)

// TestCommandsAreWhole holds every command to what a user needs of it: a long
// help with an example, every flag explained, a page no wider than a terminal,
// completion, and a script of its own.
func TestCommandsAreWhole(t *testing.T) {
	for _, construct := range constructors {
		cmd := construct()
		t.Run(cmd.Name(), func(t *testing.T) {
			if len(cmd.Long) < 100 {
				t.Errorf("its help is %d letters long", len(cmd.Long))
			}
			if !strings.Contains(cmd.Example, "  gearleaf "+cmd.Name()) {
				t.Errorf("its help has no example: %q", cmd.Example)
			}
			if cmd.ValidArgsFunction == nil {
				t.Error("its arguments are not completed")
			}
			if cmd.Args == nil {
				t.Error("it does not say how many arguments it takes")
			}
			cmd.Flags().VisitAll(func(f *pflag.Flag) {
				if len(f.Usage) < 10 {
					t.Errorf("--%s is told in %q", f.Name, f.Usage)
				}
				if !inScripts(t, cmd.Name(), f) {
					t.Errorf("--%s is in no script: add a line to testdata/script/%s.txtar", f.Name, cmd.Name())
				}
			})
			checkHelp(t, cmd)
			checkScript(t, cmd.Name())
		})
	}
}

// inScripts reports whether a script runs a command with a flag.
func inScripts(t *testing.T, command string, f *pflag.Flag) bool {
	t.Helper()
	written := "--" + f.Name
	if f.Shorthand != "" {
		written += "|-" + f.Shorthand
	}
	return regexp.MustCompile(`(?m)^.*gearleaf ` + command + `( .*)? (` + written + `)([ =].*)?$`).MatchString(scripts())
}

// scripts is the text of all scripts.
var scripts = sync.OnceValue(func() string {
	var all strings.Builder
	paths, _ := filepath.Glob("testdata/script/*.txtar")
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			panic(err)
		}
		all.Write(text)
	}
	return all.String()
})

// checkHelp asks for the help as a user does and looks at its width.
func checkHelp(t *testing.T, cmd *cobra.Command) {
	t.Helper()
	var out, errs bytes.Buffer
	if status := run([]string{cmd.Name(), "--help"}, strings.NewReader(""), &out, &errs); status != 0 || errs.Len() > 0 {
		t.Errorf("--help gives exit status %d and %q", status, errs.String())
	}
	for line := range strings.Lines(out.String()) {
		if utf8.RuneCountInString(line) > pipedWidth+1 {
			t.Errorf("a line of the help is wider than %d columns: %q", pipedWidth, line)
		}
	}
	if !strings.Contains(out.String(), "Usage:\n  gearleaf "+cmd.Name()) {
		t.Errorf("the help has no usage:\n%s", out.String())
	}
}

// TestFirstExamples runs what the help shows first, one line after the other,
// in an empty folder.
func TestFirstExamples(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, line := range exampleLines(rootExample) {
		args := strings.Fields(line)
		var out, errs bytes.Buffer
		if status := run(args[1:], strings.NewReader(""), &out, &errs); status != 0 || out.Len() == 0 {
			t.Errorf("%s: exit status %d\n%s", strings.TrimSpace(line), status, errs.String())
		}
	}
}

func checkScript(t *testing.T, name string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "script", name+".txtar"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(data), "gearleaf "+name) {
		t.Errorf("its script never runs it")
	}
}

// TestLanguageVersion compares the version that is printed with the one that is read.
func TestLanguageVersion(t *testing.T) {
	for number, want := range map[int]bool{language: true, language + 1: false} {
		s, list := sheet.FromText("version", fmt.Sprintf("gearleaf %d\ntitle \"T\"\n", number))
		if (s != nil) != want {
			t.Errorf("version %d: %v", number, list)
		}
	}
}
