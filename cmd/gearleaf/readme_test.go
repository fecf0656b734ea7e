package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/templates"
)

// block is one fenced block of a Markdown page.
type block struct {
	line   int    // of its fence
	kind   string // the word after the fence
	before string // the line above the fence
	text   string
}

// blocks returns the fenced blocks of a page.
func blocks(t *testing.T, page string) []block {
	t.Helper()
	var out []block
	var open *block
	before := ""
	number := 0
	for line := range strings.Lines(page) {
		number++
		word := strings.TrimRight(line, "\n")
		switch {
		case open == nil && strings.HasPrefix(word, "```"):
			open = &block{line: number, kind: strings.TrimPrefix(word, "```"), before: before}
		case open != nil && word == "```":
			out = append(out, *open)
			open = nil
		case open != nil:
			open.text += line
		}
		before = word
	}
	if open != nil {
		t.Fatalf("the block in line %d has no end", open.line)
	}
	return out
}

// commandsOf returns the two commands that the README opens with.
func commandsOf(t *testing.T, readme string) []string {
	t.Helper()
	for _, b := range blocks(t, readme) {
		if b.kind == "sh" {
			return strings.Split(strings.TrimSpace(b.text), "\n")
		}
	}
	t.Fatal("README.md has no block of shell")
	return nil
}

func TestReadmeCommands(t *testing.T) {
	commands := commandsOf(t, readProject(t, "README.md"))
	if len(commands) != 2 {
		t.Fatalf("README.md opens with %d commands, want 2: %q", len(commands), commands)
	}
	if commands[1] != "go test -timeout 20m ./..." {
		t.Errorf("the second command is %q, want the tests", commands[1])
	}
	args, ok := strings.CutPrefix(commands[0], "go run ./cmd/gearleaf ")
	if !ok {
		t.Fatalf("the first command is %q, want the main job", commands[0])
	}
	inFolderOfTemplates(t)
	var out, errs bytes.Buffer
	if status := run(strings.Fields(args), strings.NewReader(""), &out, &errs); status != 0 {
		t.Fatalf("exit status %d:\n%s%s", status, out.String(), errs.String())
	}
	if errs.Len() > 0 {
		t.Errorf("it complains:\n%s", errs.String())
	}
	workbook := args[strings.LastIndex(args, " ")+1:]
	data, err := os.ReadFile(workbook)
	if err != nil || !bytes.HasPrefix(data, []byte("PK")) {
		t.Errorf("%s is no workbook: %v", workbook, err)
	}
}

// inFolderOfTemplates makes a new folder that holds templates/ the current one.
func inFolderOfTemplates(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	if err := os.Mkdir("templates", 0o755); err != nil {
		t.Fatal(err)
	}
	for _, one := range templates.List() {
		for _, f := range append(one.Beside, templates.File{Name: one.Name + ".leaf", Text: one.Text}) {
			if err := os.WriteFile(filepath.Join("templates", f.Name), []byte(f.Text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// TestReadmeShowsWhatIsPrinted runs every command that the README shows with
// its output, on the worksheet that the README shows.
func TestReadmeShowsWhatIsPrinted(t *testing.T) {
	page := blocks(t, readProject(t, "README.md"))
	inFolderOfTemplates(t)
	shown := 0
	for _, b := range page {
		switch b.kind {
		case "leaf":
			if err := os.WriteFile("bike.leaf", []byte(b.text), 0o644); err != nil {
				t.Fatal(err)
			}
		case "console":
			shown++
			checkConsole(t, b)
		}
	}
	if shown < 2 {
		t.Errorf("the README shows %d commands with their output, want two or more", shown)
	}
}

// checkConsole runs "$ gearleaf …" and compares what follows it.
func checkConsole(t *testing.T, b block) {
	t.Helper()
	command, want, _ := strings.Cut(b.text, "\n")
	args, ok := strings.CutPrefix(command, "$ gearleaf ")
	if !ok {
		t.Fatalf("README.md:%d: a console block starts with $ gearleaf, not %q", b.line, command)
	}
	var out bytes.Buffer
	run(strings.Fields(args), strings.NewReader(""), &out, &out)
	if out.String() != want {
		t.Errorf("README.md:%d: %s prints\n%s\nthe README shows\n%s", b.line, command, out.String(), want)
	}
}

// TestLanguagePage reads every worksheet of the language reference.
func TestLanguagePage(t *testing.T) {
	read := 0
	for _, b := range blocks(t, readProject(t, "sheet/LANGUAGE.md")) {
		if b.kind != "leaf" {
			continue
		}
		read++
		t.Run(fmt.Sprintf("line %d", b.line), func(t *testing.T) { checkLanguageBlock(t, b) })
	}
	if read < 10 {
		t.Errorf("only %d worksheets were found", read)
	}
}

func checkLanguageBlock(t *testing.T, b block) {
	s, list := sheet.FromText("block", b.text)
	var codes []string
	for _, d := range list {
		codes = append(codes, string(d.Code))
	}
	if want, wrong := strings.CutPrefix(b.before, "Error `"); wrong {
		want = strings.TrimSuffix(want, "`:")
		if s != nil || len(codes) != 1 || codes[0] != want {
			t.Errorf("gives %q, the page says %q", codes, want)
		}
		return
	}
	if s == nil || len(list) > 0 {
		t.Fatalf("gives %q: %v", codes, list)
	}
	r, err := s.Compute()
	if err != nil {
		t.Fatal(err)
	}
	if r.Trouble() {
		t.Errorf("a limit is broken or a value at fault: %v", r.Failures())
	}
}
