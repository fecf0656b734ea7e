// Package templates has the ready worksheets for new sheets. A file added to
// this folder is a template; nothing here names files.
package templates

import (
	"embed"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"sync"
)

//go:embed *.leaf *.csv
var sheets embed.FS

// Template is one ready worksheet.
type Template struct {
	Name  string // "sprocket-change", the file's name without its ending
	Title string // from its title line
	Text  string // the whole worksheet
	// Beside are the files that it needs beside it: the worksheets that it uses
	// and the files of their tables.
	Beside []File
}

// File is one file that a template needs.
type File struct {
	Name string
	Text string
}

// List returns the templates in the order of their names.
func List() []Template { return slices.Clone(listed()) }

// listed reads the templates once: every message about a missing worksheet
// looks for a template of its name.
var listed = sync.OnceValue(func() []Template {
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

			Beside: beside(string(text), map[string]bool{name: true}),
		})
	}
	return list
})

// Find returns the template called name.
func Find(name string) (Template, bool) {
	for _, t := range listed() {
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

// beside returns the files that text uses, directly or through others, each
// once.
func beside(text string, seen map[string]bool) []File {
	var files []File
	for _, want := range wants(text) {
		if seen[want] {
			continue
		}
		seen[want] = true
		text, err := sheets.ReadFile(want)
		if err != nil {
			continue // a template that uses a missing file fails its own test
		}
		files = append(files, File{want, string(text)})
		files = append(files, beside(string(text), seen)...)
	}
	return files
}

// asks finds the files that a worksheet's use lines and tables name.
var asks = regexp.MustCompile(`(?m)^(?:use|table \w+ +from) +"([^"]+)"`)

// wants returns the names of the files that text uses.
func wants(text string) []string {
	var names []string
	for _, m := range asks.FindAllStringSubmatch(text, -1) {
		names = append(names, m[1])
	}
	return names
}
