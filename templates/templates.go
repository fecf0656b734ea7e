// Package templates holds the ready worksheets that a new sheet can start
// from. A file dropped into this folder is offered; nothing here names one.
package templates

import (
	"embed"
	"io/fs"
	"strings"
)

//go:embed *.leaf
var sheets embed.FS

// Template is one ready worksheet.
type Template struct {
	Name  string // "sprocket-change", the file's name without its ending
	Title string // what its title line says
	Text  string // the whole worksheet
}

// List returns the templates in the order of their names.
func List() []Template {
	names, err := fs.Glob(sheets, "*.leaf")
	if err != nil {
		panic(err) // the pattern is a constant
	}
	list := make([]Template, 0, len(names))
	for _, name := range names {
		text, err := sheets.ReadFile(name)
		if err != nil {
			panic(err) // the file is part of the program
		}
		list = append(list, Template{
			Name:  strings.TrimSuffix(name, ".leaf"),
			Title: title(string(text)),
			Text:  string(text),
		})
	}
	return list
}

// Find returns the template called name.
func Find(name string) (Template, bool) {
	for _, t := range List() {
		if t.Name == name {
			return t, true
		}
	}
	return Template{}, false
}

// title returns the text of the first title line, quotes undone.
func title(text string) string {
	for line := range strings.Lines(text) {
		rest, ok := strings.CutPrefix(line, "title")
		if !ok {
			continue
		}
		quoted := strings.TrimSpace(rest)
		if len(quoted) < 2 || quoted[0] != '"' || quoted[len(quoted)-1] != '"' {
			continue
		}
		return strings.ReplaceAll(quoted[1:len(quoted)-1], `""`, `"`)
	}
	return ""
}
