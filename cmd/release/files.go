package main

import (
	"bytes"
	"fmt"
	"html"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
)

// folders of the project that are archived unchanged, by their name in the
// archive.
var folders = []struct{ from, to, pattern string }{
	{"templates", "templates", "*.leaf"},
	{"templates", "templates", "*.csv"},
	{"cmd/gearleaf/editors", "editors", "*"},
}

// commonFiles returns the files of every archive besides the program; program
// prints the manual pages and completions.
func commonFiles(program string) ([]entry, error) {
	var out []entry
	for from, to := range map[string]string{"LICENSE": "LICENSE", "README.md": "README.md", "cmd/gearleaf/CHANGES.md": "CHANGES.md"} {
		data, err := os.ReadFile(from)
		if err != nil {
			return nil, err
		}
		out = append(out, entry{name: to, data: data})
	}
	for _, f := range folders {
		found, err := folderFiles(f.from, f.to, f.pattern)
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	for _, more := range []func() ([]entry, error){
		func() ([]entry, error) { return manualPages(program) },
		func() ([]entry, error) { return completions(program) },
		manual,
	} {
		found, err := more()
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	return out, nil
}

// folderFiles returns the files of a folder, and of those below it. A missing
// folder, or one without such a file, is an error.
func folderFiles(from, to, pattern string) ([]entry, error) {
	var out []entry
	err := filepath.WalkDir(from, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if ok, err := path.Match(pattern, d.Name()); err != nil || !ok {
			return err
		}
		rel, err := filepath.Rel(from, p)
		if err != nil {
			return err
		}
		data, err := os.ReadFile(p)
		out = append(out, entry{name: path.Join(to, filepath.ToSlash(rel)), data: data})
		return err
	})
	if err == nil && len(out) == 0 {
		err = fmt.Errorf("%s holds no %s", from, pattern)
	}
	return out, err
}

var commandLine = regexp.MustCompile(`(?m)^  ([a-z]+) {2,}`)

// manualPages returns the program's manual page of every command.
func manualPages(program string) ([]entry, error) {
	help, err := output(program, "--help")
	if err != nil {
		return nil, err
	}
	_, list, found := strings.Cut(help, "Available Commands:\n")
	if !found {
		return nil, fmt.Errorf("the program does not list its commands")
	}
	list, _, _ = strings.Cut(list, "\n\n")
	page, err := output(program, "man")
	if err != nil {
		return nil, err
	}
	out := []entry{{name: "man/man1/gearleaf.1", data: []byte(page)}}
	for _, m := range commandLine.FindAllStringSubmatch(list, -1) {
		if m[1] == "help" {
			continue
		}
		page, err := output(program, "man", m[1])
		if err != nil {
			return nil, err
		}
		out = append(out, entry{name: "man/man1/gearleaf-" + m[1] + ".1", data: []byte(page)})
	}
	return out, nil
}

func completions(program string) ([]entry, error) {
	var out []entry
	for shell, name := range map[string]string{"bash": "gearleaf.bash", "zsh": "_gearleaf", "fish": "gearleaf.fish", "powershell": "gearleaf.ps1"} {
		text, err := output(program, "completion", shell)
		if err != nil {
			return nil, err
		}
		out = append(out, entry{name: "completions/" + name, data: []byte(text)})
	}
	return out, nil
}

// pageStyle is the look of the manual.
const pageStyle = `body{max-width:48rem;margin:2rem auto;padding:0 1rem;font:1rem/1.5 system-ui,sans-serif;color:#222a33;background:#fff}
pre{overflow-x:auto;padding:.75rem;background:#f3f5f6;border:1px solid #d9dee2}code{font-size:.92em}
table{border-collapse:collapse}td,th{border:1px solid #d9dee2;padding:.2rem .6rem;text-align:left}img{max-width:100%}a{color:#1f4e79}`

// manual converts the manual's pages, the language and the formula library to
// HTML, and adds its pictures.
func manual() ([]entry, error) {
	pages, err := filepath.Glob("templates/manual/*.md")
	if err != nil {
		return nil, err
	}
	to := map[string]string{"sheet/LANGUAGE.md": "language.html", "formulas/FUNCTIONS.md": "functions.html", "export/JSON.md": "json.html", "README.md": "readme.html"}
	for _, p := range pages {
		name := strings.TrimSuffix(filepath.Base(p), ".md") + ".html"
		if name == "README.html" {
			name = "index.html"
		}
		to[filepath.ToSlash(p)] = name
	}
	md := goldmark.New(goldmark.WithExtensions(extension.GFM), goldmark.WithParserOptions(parser.WithAutoHeadingID()))
	var out []entry
	for from, name := range to {
		text, err := os.ReadFile(from)
		if err != nil {
			return nil, err
		}
		page, err := htmlPage(md, text, from, to)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", from, err)
		}
		out = append(out, entry{name: "manual/" + name, data: page})
	}
	pictures, err := folderFiles("templates/manual", "manual", "*.svg")
	return append(out, pictures...), err
}

var (
	heading  = regexp.MustCompile(`(?m)^# (.+)$`)
	linkedTo = regexp.MustCompile(`(href)="([^"#:]+\.(?:md|leaf|csv))(#[^"]*)?"`)
)

// htmlPage makes one page, with links to the others.
func htmlPage(md goldmark.Markdown, text []byte, from string, to map[string]string) ([]byte, error) {
	title := path.Base(from)
	if m := heading.FindSubmatch(text); m != nil {
		title = string(m[1])
	}
	var body bytes.Buffer
	if err := md.Convert(text, &body); err != nil {
		return nil, err
	}
	linked := linkedTo.ReplaceAllStringFunc(body.String(), func(link string) string {
		m := linkedTo.FindStringSubmatch(link)
		at := path.Join(path.Dir(from), m[2])
		switch name, known := to[at]; {
		case known:
			return `href="` + name + m[3] + `"`
		case strings.HasPrefix(at, "templates/"):
			return `href="../` + at + `"`
		}
		return link
	})
	return fmt.Appendf(nil, "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\">\n<title>%s</title>\n<style>%s</style></head>\n<body>\n%s</body></html>\n",
		html.EscapeString(strings.ReplaceAll(title, "`", "")), pageStyle, linked), nil
}
