package main

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// private are words of our own for what the field has a term for, and turns of
// phrase that technical English does not have.
var private = regexp.MustCompile(`(?i)\b(dash(es|code)?|weaves?|woven|strands?|knots?|kin|kindred|wary|pairloops?|` +
	`lean(s|ed|ing)?[\s/]+(up)?on|what[\s/]+stands?|in[\s/]+hand|at[\s/]+hand|where[\s/]+not|tells?[\s/]+whether|looked[\s/]+over|under[\s/]+way)\b`)

// idioms are turns of phrase that no text uses: write "comes after", "depends on",
// "formatted", "again", "zero", "runtime value", "reports", "compares A with B",
// "differently", "cycle", "thousands separator", "truncated".
const idioms = `hangs?\s+(on|together)|goes\s+with|speaks?\s+of|comes?\s+back|laid[- ]out|told|tells?\s+(\w+\s+)?apart|` +
	`parted\s+by|anew|once\s+more|nought|in\s+flight|` +
	`not\s+alike|in\s+a\s+circle|set\s+apart|settle\s+it|(was|were|is|are)\s+cut\s+off|beyond\s+all\s+bounds|one\s+another|in\s+(its|their)\s+turn|asked\s+of`

// Pages and scripts are also about machines, whose parts stand and are behind one
// another; messages have no use for those words, comments for some more.
var (
	inProse    = regexp.MustCompile(`(?i)\b(` + idioms + `|stands\s+for)\b`)
	inMessages = regexp.MustCompile(`(?i)\b(` + idioms + `|` + moreIdioms + `|takes?\s+no)\b`)
	inPages    = regexp.MustCompile(`(?i)\b(` + idioms + `|` + moreIdioms + `)\b`)
	inComments = regexp.MustCompile(`(?i)\b(` + idioms + `|` + moreIdioms + `|` + commentIdioms + `)\b`)
)

// Comments have more: "nil where" is written "nil if", "what is wrong" "the
// error", "the way out" "the correction", "a truth" "a logical value", "says why"
// "describes why" or "returns why", "how many rows it has" "the number of rows".
const commentIdioms = `(nil|empty|false|true|0|-1|none)\s+where|the\s+way\s+out|what\s+is\s+wrong|says\s+(why|what|how|which|where)|` +
	`as\s+\w+\s+(has|have)\s+(it|them)|what\s+it\s+(has|holds)|a\s+truth|with\s+care|now\s+and\s+then|` +
	`how\s+many\s+(\w+\s+){1,4}(there\s+are|has|have|holds?|takes?)`

const moreIdioms = `stands?|stood|behind|has\s+spoken|by\s+now|passe[sd]\s+over|lets?\s+go|in\s+work|asked\s+for|taken\s+for|says\s+in\s+words|` +
	`(Test|Fuzz)\w+\s+holds\s[^.;]*\sagainst|as\s+(it\s+is|they\s+are)\s+written`

// prose are the files that inProse is about: not those that quote code, or
// that others wrote.
func prose(name string) bool {
	switch filepath.Ext(name) {
	case ".md", ".js", ".html":
		return name != "sheet/coverage.md" && !strings.Contains(name, "testdata/") && !strings.HasSuffix(name, "/languageclient.js")
	}
	return false
}

// TestStandardWordsInMessages refuses translated turns of phrase in the texts
// of the program: messages, helps, reports. A text has a blank in it.
func TestStandardWordsInMessages(t *testing.T) {
	read := 0
	for _, name := range goFiles(t) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		path := filepath.Join(root, name)
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			text, ok := n.(*ast.BasicLit)
			if !ok || text.Kind != token.STRING {
				return true
			}
			read++
			if s, err := strconv.Unquote(text.Value); err == nil && strings.Contains(strings.TrimSpace(s), " ") || strings.HasPrefix(s, " ") {
				if word := inMessages.FindString(s); word != "" {
					t.Errorf("%s: %q", set.Position(text.Pos()), word)
				}
			}
			return true
		})
	}
	if read < 5000 {
		t.Errorf("only %d texts were read", read)
	}
}

// TestStandardWordsInComments refuses translated idiom in the comments of the
// Go files, and in the pages that are not about machines, where a tank may be
// behind a pump.
func TestStandardWordsInComments(t *testing.T) {
	read := 0
	for _, name := range goFiles(t) {
		if name == "cmd/gearleaf/words_test.go" {
			continue
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, filepath.Join(root, name), nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, group := range file.Comments {
			read++
			if word := inComments.FindString(group.Text()); word != "" {
				t.Errorf("%s: %q", set.Position(group.Pos()), word)
			}
		}
	}
	if read < 5000 {
		t.Errorf("only %d comments were read", read)
	}
	for _, name := range pages(t) {
		text, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range inPages.FindAllIndex(text, -1) {
			t.Errorf("%s:%d: %q", name, 1+bytes.Count(text[:at[0]], []byte("\n")), text[at[0]:at[1]])
		}
	}
}

// pages are the Markdown files about the program.
func pages(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, pattern := range []string{"*.md", ".github/*.md", "sheet/*.md", "sheet/program/*.md", "export/*.md", "cmd/gearleaf/*.md"} {
		found, err := filepath.Glob(filepath.Join(root, pattern))
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: %v", pattern, err)
		}
		for _, p := range found {
			name, err := filepath.Rel(root, p)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, filepath.ToSlash(name))
		}
	}
	return out
}

// standard are the files in which one of the words is a standard term.
var standard = map[string]*regexp.Regexp{
	"knot": regexp.MustCompile(`^sheet/unit/(factors|spellings|catalog_test)\.go$`), // the unit of speed
	"dash": regexp.MustCompile(`^export/(chart/|charts\.go|page/script/chart\.js)`), // the pattern of a drawn line
}

// inEngine are private words that are terms elsewhere: of a page, a chain, a
// drawing.
var inEngine = regexp.MustCompile(`(?i)\b(strips?|stretch(es)?|joints?|webs?|spell(s|ed)?|spelt)\b`)

// engine are the packages that compile and run a sheet.
var engine = regexp.MustCompile(`^sheet/(program|whatif|kernel|graph|referee)/`)

// kept are files of earlier versions, which must stay as they were.
const kept = "testdata/frozen"

// written are the endings of files that people write and read.
var written = []string{".go", ".md", ".leaf", ".js", ".css", ".html", ".lua", ".txt", ".mjs", ".cjs", ".sh", ".py", ".vim", ".txtar", ".wat", ""}

// TestStandardWords refuses private words in code, comments, messages and
// pages of the whole project.
func TestStandardWords(t *testing.T) {
	read := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(root, path)
		name = filepath.ToSlash(name)
		switch {
		case d.IsDir() && (name == ".git" || name == kept || d.Name() == "node_modules"):
			return filepath.SkipDir
		case err != nil, d.IsDir(), !slices.Contains(written, filepath.Ext(path)), name == "cmd/gearleaf/words_test.go":
			return err
		}
		data, err := os.ReadFile(path)
		if bytes.IndexByte(data, 0) >= 0 {
			return nil // a program that was built here
		}
		read++
		if prose(name) {
			for _, at := range inProse.FindAllIndex(data, -1) {
				t.Errorf("%s:%d: %q", name, 1+bytes.Count(data[:at[0]], []byte("\n")), data[at[0]:at[1]])
			}
		}
		if word := inEngine.FindString(string(data)); word != "" && engine.MatchString(name) {
			t.Errorf("%s: %q", name, word)
		}
		for _, at := range private.FindAllIndex(data, -1) {
			word := string(data[at[0]:at[1]])
			term := standard[strings.TrimRight(strings.TrimSuffix(strings.ToLower(word), "es"), "s")]
			if term == nil || !term.MatchString(name) {
				t.Errorf("%s:%d: %q", name, 1+bytes.Count(data[:at[0]], []byte("\n")), word)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if read < 500 {
		t.Errorf("only %d files were read", read)
	}
}
