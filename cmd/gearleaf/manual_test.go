package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gearleaf/templates"
)

// manualPages returns the pages of the manual by name.
func manualPages(t *testing.T) map[string]string {
	t.Helper()
	paths, err := filepath.Glob("../../templates/manual/*.md")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no pages of the manual: %v", err)
	}
	pages := map[string]string{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		pages[filepath.Base(path)] = string(text)
	}
	return pages
}

// TestManualCommands runs every command of the manual, page by page in a new
// folder, and compares what it prints with what the page shows. A line … on a
// page replaces lines left out.
func TestManualCommands(t *testing.T) {
	for name, page := range manualPages(t) {
		t.Run(name, func(t *testing.T) {
			shown := blocks(t, page)
			t.Chdir(t.TempDir())
			for _, b := range shown {
				switch b.kind {
				case "console":
					runManual(t, name, b)
				case "sh", "slurm":
					t.Run(fmt.Sprintf("line %d", b.line), func(t *testing.T) { runShell(t, b) })
				default:
					t.Errorf("line %d: a block of %q; commands stand in console and sh blocks", b.line, b.kind)
				}
			}
		})
	}
}

// runManual runs the commands of one block.
func runManual(t *testing.T, name string, b block) {
	t.Helper()
	parts := strings.Split("\n"+b.text, "\n$ gearleaf ")
	if len(parts) < 2 || parts[0] != "" {
		t.Fatalf("%s:%d: a console block starts with $ gearleaf", name, b.line)
	}
	for _, part := range parts[1:] {
		command, want, _ := strings.Cut(part, "\n")
		var out bytes.Buffer
		run(strings.Fields(command), strings.NewReader(""), &out, &out)
		if miss := firstMiss(lines(want), lines(out.String())); miss != "" {
			t.Errorf("%s:%d: gearleaf %s\nprints\n%s\nthe page shows, where nothing fits,\n%s", name, b.line, command, out.String(), miss)
		}
	}
}

func lines(text string) []string {
	text = strings.Trim(text, "\n")
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

// firstMiss returns the first line of shown that printed does not have in its
// place; empty if all fit.
func firstMiss(shown, printed []string) string {
	skip, at := false, 0
	for _, line := range shown {
		if line == "…" {
			skip = true
			continue
		}
		for skip && at < len(printed) && printed[at] != line {
			at++
		}
		if at >= len(printed) || printed[at] != line {
			return line
		}
		skip, at = false, at+1
	}
	if !skip && at < len(printed) {
		return "(the end, before " + printed[at] + ")"
	}
	return ""
}

func TestFirstMiss(t *testing.T) {
	for _, c := range []struct{ shown, printed, miss string }{
		{"a\nb", "a\nb", ""},
		{"a\n…\nc", "a\nb\nc", ""},
		{"…\nc\n…", "a\nb\nc\nd", ""},
		{"…", "a", ""},
		{"a\nb", "a\nc", "b"},
		{"a\n…\nd", "a\nb\nc", "d"},
		{"a", "a\nb", "(the end, before b)"},
		{"…\nb\na", "a\nb", "a"},
		{"", "a", "(the end, before a)"},
	} {
		if got := firstMiss(lines(c.shown), lines(c.printed)); got != c.miss {
			t.Errorf("%q against %q misses %q, want %q", c.shown, c.printed, got, c.miss)
		}
	}
}

// TestManualIsWhole sees that each template has its page, that the pages are
// linked, and that no link leads nowhere.
func TestManualIsWhole(t *testing.T) {
	pages := manualPages(t)
	for _, tpl := range templates.List() {
		page := tpl.Name + ".md"
		if tpl.Name == "saturday" {
			page = "set-up-book.md" // a day is on the book's page
		}
		text, ok := pages[page]
		if !ok || !strings.Contains(text, "gearleaf new "+tpl.Name) || !strings.Contains(text, "does not know") {
			t.Errorf("%s has no page that starts it and says what it does not know", tpl.Name)
		}
	}
	link := regexp.MustCompile(`\]\(([^)#]+)\)`)
	readme := readProject(t, "README.md")
	linked := map[string]bool{}
	for name, page := range pages {
		for _, m := range link.FindAllStringSubmatch(page, -1) {
			if _, err := os.Stat(filepath.Join("../../templates/manual", m[1])); err != nil {
				t.Errorf("%s: the link %s leads nowhere", name, m[1])
			}
			if name == "README.md" {
				linked[m[1]] = true
			}
		}
	}
	for name := range pages {
		if name != "README.md" && !linked[name] {
			t.Errorf("the manual's first page does not link %s", name)
		}
	}
	if !strings.Contains(readme, "templates/manual/README.md") {
		t.Error("the README does not link the manual")
	}
}

// TestBetweenRoundsIsOnePage prints the page that is used between two rounds:
// it fits one side of paper, 80 lines of 80 characters.
func TestBetweenRoundsIsOnePage(t *testing.T) {
	t.Chdir(t.TempDir())
	var out bytes.Buffer
	run([]string{"new", "between-rounds"}, strings.NewReader(""), &out, &out)
	out.Reset()
	if status := run([]string{"calc", "between-rounds.leaf", "--own"}, strings.NewReader(""), &out, &out); status != 0 {
		t.Fatalf("exit status %d:\n%s", status, out.String())
	}
	page := lines(out.String())
	if len(page) > 80 {
		t.Errorf("it has %d lines", len(page))
	}
	for _, line := range page {
		if width(line) > 80 {
			t.Errorf("wider than 80: %s", line)
		}
	}
}
