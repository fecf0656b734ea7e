package main

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/unit"
)

// pattern is a rule of a TextMate grammar.
type pattern struct {
	Name     string            `json:"name,omitempty"`
	Match    string            `json:"match,omitempty"`
	Begin    string            `json:"begin,omitempty"`
	End      string            `json:"end,omitempty"`
	Captures map[string]scoped `json:"captures,omitempty"`
	Patterns []pattern         `json:"patterns,omitempty"`
}

type scoped struct {
	Name string `json:"name"`
}

func scope(names ...string) map[string]scoped {
	out := map[string]scoped{}
	for i, n := range names {
		out[fmt.Sprint(i+1)] = scoped{n}
	}
	return out
}

// symbols returns every spelling of a unit, the longest first.
func symbols() []string {
	var out []string
	for _, row := range unit.Catalog() {
		out = append(append(out, row.Symbol), row.Aliases...)
	}
	slices.Sort(out)
	out = slices.Compact(out)
	slices.SortStableFunc(out, func(a, b string) int { return len(b) - len(a) })
	return out
}

// unitPattern matches a unit, compounds too.
func unitPattern() string {
	quoted := symbols()
	for i := range quoted {
		quoted[i] = regexp.QuoteMeta(quoted[i])
	}
	one := "(?:" + strings.Join(quoted, "|") + ")\\d?"
	return "(?:1/)?\\(?" + one + "(?:[./]\\(?" + one + "\\)?)*\\)?(?![A-Za-z0-9_%])"
}

// grammar is the TextMate grammar, made of the language's words and units.
func grammar() string {
	words := syntax.AllWords()
	or := func(list []string) string { return strings.Join(list, "|") }
	patterns := []pattern{
		{Name: "comment.line.number-sign.gearleaf", Match: "#.*$"},
		{Name: "string.quoted.double.gearleaf", Match: `"(?:[^"]|"")*"?`},
		{Match: `^(` + or(words.Statements) + `)\b(?!\s*[:=(.])`, Captures: scope("keyword.control.gearleaf")},
		{Match: `^\s+(` + or(words.Body) + `)\b(?!\s*[:=(.])`, Captures: scope("keyword.control.gearleaf")},
		{Match: `^\s*([a-z][a-z0-9_]*)(?:(\.)([a-z][a-z0-9_]*)(?=\[))?(?:\[[^\]]*\])?\s*([:=])`, Captures: map[string]scoped{
			"1": {"variable.other.declaration.gearleaf"}, "3": {"variable.other.property.gearleaf"}, "4": {"keyword.operator.gearleaf"},
		}},
		{Match: `(?<![A-Za-z0-9_])(\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)(?:\s+(` + unitPattern() + `))?`, Captures: scope("constant.numeric.gearleaf", "support.type.unit.gearleaf")},
		{Match: `\b(as)\s+(` + unitPattern() + `)`, Captures: scope("keyword.other.gearleaf", "support.type.unit.gearleaf")},
		{Name: "keyword.other.gearleaf", Match: `\b(?:` + or(slices.DeleteFunc(slices.Clone(words.Reserved), func(w string) bool { return w == "prev" || w == "next" || w == "yes" || w == "no" })) + `)\b`},
		{Name: "constant.language.gearleaf", Match: `\b(?:yes|no)\b`},
		{Name: "entity.name.function.gearleaf", Match: `\b[a-z][a-z0-9_]*(?=\()`},
		{Name: "keyword.other.clause.gearleaf", Match: `\b(?:` + or(words.Clauses) + `)\b(?!\s*[:=*/+^)<>-])`},
		{Name: "keyword.operator.gearleaf", Match: `±|\+/-|\.\.|<=|>=|<>|[-+*/^<>=:|]`},
	}
	out, err := json.MarshalIndent(map[string]any{
		"name": "Gearleaf worksheet", "scopeName": "source.gearleaf", "fileTypes": []string{"leaf"}, "patterns": patterns,
	}, "", "  ")
	if err != nil {
		panic(err)
	}
	return string(out) + "\n"
}

// vimSyntax is the syntax file of Vim and Neovim.
func vimSyntax() string {
	words := syntax.AllWords()
	units := symbols()
	for i := range units {
		units[i] = strings.NewReplacer(`\`, `\\`, `/`, `\/`, `.`, `\.`, `*`, `\*`, `[`, `\[`, `~`, `\~`, `^`, `\^`, `$`, `\$`).Replace(units[i])
	}
	statement := strings.Join(slices.Concat(words.Statements, words.Body), `\|`)
	one := `\%(` + strings.Join(units, `\|`) + `\)\d\?`
	compound := `(\?` + one + `\%([./](\?` + one + `)\?\)*)\?\ze\%([^A-Za-z0-9_%]\|$\)`
	return `" Worksheets. Written by a test from the language's words and units; see
" cmd/gearleaf/editors_test.go.
if exists('b:current_syntax')
  finish
endif

syntax case match
syntax match gearleafOperator /±\|+\/-\|\.\.\|[-+*\/^<>=:|]/
syntax match gearleafName /^\s*\zs[a-z][a-z0-9_]*\ze\%(\.[a-z0-9_]*\)\?\%(\[[^]]*\]\)\?\s*[:=]/
syntax match gearleafFunction /\<[a-z][a-z0-9_]*\ze(/
syntax keyword gearleafWord ` + strings.Join(slices.DeleteFunc(slices.Clone(words.Reserved), func(w string) bool { return w == "as" || w == "yes" || w == "no" }), " ") + `
syntax keyword gearleafWord ` + strings.Join(slices.DeleteFunc(slices.Clone(words.Clauses), func(w string) bool { return len(w) == 1 }), " ") + `
syntax keyword gearleafTruth yes no
syntax match gearleafStatement /^\s*\zs\%(` + statement + `\)\>\ze\%(\s*[:=(.]\)\@!/
syntax match gearleafNumber /\%([A-Za-z0-9_.]\)\@<!\d\+\%(\.\d\+\)\?\%([eE][-+]\?\d\+\)\?/ nextgroup=gearleafUnit skipwhite
syntax match gearleafAs /\<as\>/ nextgroup=gearleafUnit skipwhite
syntax match gearleafUnit contained /` + compound + `/
syntax region gearleafText start=/"/ skip=/""/ end=/"/ oneline
syntax match gearleafComment /#.*$/

highlight default link gearleafOperator Operator
highlight default link gearleafName Identifier
highlight default link gearleafFunction Function
highlight default link gearleafWord Keyword
highlight default link gearleafAs Keyword
highlight default link gearleafTruth Boolean
highlight default link gearleafStatement Statement
highlight default link gearleafNumber Number
highlight default link gearleafUnit Type
highlight default link gearleafText String
highlight default link gearleafComment Comment

let b:current_syntax = 'gearleaf'
`
}

// TestEditorFilesAreWritten holds the files for editors to the tables of words
// and units. GEARLEAF_UPDATE=1 writes them.
func TestEditorFilesAreWritten(t *testing.T) {
	for name, want := range map[string]string{
		"editors/vscode/syntaxes/gearleaf.tmLanguage.json": grammar(),
		"editors/vim/syntax/gearleaf.vim":                  vimSyntax(),
	} {
		if os.Getenv("GEARLEAF_UPDATE") != "" {
			if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		have, err := os.ReadFile(name)
		if err != nil || string(have) != want {
			t.Errorf("%s is not what the tables of words and units give (%v); GEARLEAF_UPDATE=1 writes it", name, err)
		}
	}
}

// TestGrammarTokenises reads every template and every block of LANGUAGE.md with
// the tokeniser that VS Code uses.
func TestGrammarTokenises(t *testing.T) {
	if out, err := exec.Command("node", "-e", `require("vscode-textmate"); require("vscode-oniguruma")`).CombinedOutput(); err != nil {
		outside.Missing(t, "vscode-textmate and vscode-oniguruma (npm; NODE_PATH says where) are not installed: "+strings.SplitN(string(out), "\n", 2)[0])
	}
	dir := t.TempDir()
	files, _ := filepath.Glob("../../templates/*.leaf")
	language, err := os.ReadFile("../../sheet/LANGUAGE.md")
	if err != nil {
		t.Fatal(err)
	}
	for i, block := range regexp.MustCompile("(?s)```[a-z]*\n(.*?)```").FindAllStringSubmatch(string(language), -1) {
		name := filepath.Join(dir, fmt.Sprintf("block%d.leaf", i))
		if err := os.WriteFile(name, []byte(block[1]), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, name)
	}
	if len(files) < 12 {
		t.Fatalf("only %d worksheets", len(files))
	}
	words, err := json.Marshal(map[string]any{"statements": syntax.AllWords().Statements, "units": symbols()})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", append([]string{"testdata/lsp/grammar.js", string(words)}, files...)...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Logf("%s", out)
}

// TestExtensionIsWhole checks that the extension's folder holds all that its
// description names, and needs nothing from elsewhere.
func TestExtensionIsWhole(t *testing.T) {
	text, err := os.ReadFile("editors/vscode/package.json")
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(text), `"dependencies"`) {
		t.Error("the extension has dependencies that would be fetched")
	}
	for _, m := range regexp.MustCompile(`"(\./[^"]+)"`).FindAllStringSubmatch(string(text), -1) {
		if _, err := fs.Stat(os.DirFS("editors/vscode"), strings.TrimPrefix(m[1], "./")); err != nil {
			t.Errorf("package.json names %s: %v", m[1], err)
		}
	}
	script, err := os.ReadFile("editors/vscode/extension.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`require\('([^']+)'\)`).FindAllStringSubmatch(string(script), -1) {
		if m[1] == "vscode" {
			continue
		}
		if _, err := os.Stat(filepath.Join("editors/vscode", m[1])); err != nil {
			t.Errorf("extension.js requires %s: %v", m[1], err)
		}
	}
	if out, err := exec.Command("node", "--check", "editors/vscode/extension.js").CombinedOutput(); err != nil {
		if _, lost := exec.LookPath("node"); lost != nil {
			outside.Missing(t, "node is not installed")
		}
		t.Errorf("extension.js: %s", out)
	}
}
