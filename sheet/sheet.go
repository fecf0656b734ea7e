package sheet

import (
	"path/filepath"
	"strings"
	"sync"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
	"gearleaf/sheet/whatif"
)

// Sheet is a worksheet that has been read, checked and compiled. It is not
// safe for concurrent use.
type Sheet struct {
	Path    string // as it was given; empty for a text
	Model   *check.Model
	Graph   *graph.Graph
	Program *program.Program
	// Settings stand in for givens of the text, in the order of Set.
	Settings []whatif.Setting
}

// Load reads the worksheet at path with everything it uses, checks it and
// compiles it. The list holds advices too; the Sheet is nil when it holds an
// error.
func Load(path string) (*Sheet, diag.List) {
	l, name, err := openLoader(path)
	if err != nil {
		return nil, diag.List{*unreadable(path, err)}
	}
	defer l.close()
	file, d := l.read(name, path)
	if d != nil {
		return nil, diag.List{*d}
	}
	s, list := l.build(file, name)
	if s != nil {
		s.Path = path
	}
	return s, list
}

// FromText checks and compiles a worksheet that is not in a folder: it cannot
// use other files.
func FromText(name, text string) (*Sheet, diag.List) {
	file, d := admitText(name, text)
	if d != nil {
		return nil, diag.List{*d}
	}
	l := &loader{index: map[string]int{}}
	return l.build(file, name)
}

// Text is a worksheet that is not in a file of its own.
type Text struct{ Name, Text string }

// FromTexts checks and compiles worksheets that are not in a folder; the first
// is the sheet, the others are those that it uses, their names beside its own.
func FromTexts(texts []Text) (*Sheet, diag.List) {
	l := &loader{index: map[string]int{}, texts: map[string]string{}}
	for _, t := range Beside(texts) {
		l.texts[t.Name] = t.Text
	}
	file, d := admitText(texts[0].Name, texts[0].Text)
	if d != nil {
		return nil, diag.List{*d}
	}
	return l.build(file, filepath.Base(texts[0].Name))
}

// Beside returns the texts with names relative to the folder of the first,
// with / between folders, as a worksheet names what it uses.
func Beside(texts []Text) []Text {
	folder := filepath.ToSlash(filepath.Dir(texts[0].Name))
	out := make([]Text, len(texts))
	for i, t := range texts {
		out[i] = Text{Name: filepath.ToSlash(t.Name), Text: t.Text}
		if folder != "." {
			out[i].Name = strings.TrimPrefix(out[i].Name, folder+"/")
		}
	}
	return out
}

// build runs the stages on file.
func (l *loader) build(file *source.File, path string) (*Sheet, diag.List) {
	l.add(file, path, nil)
	list := l.list
	model, found := check.Check(check.Input{Files: l.files, Library: library(), CSV: l.csv})
	list = append(list, found...)
	if list.Errors() {
		// A cycle is worth telling even where something else is wrong.
		if _, cycles := graph.Build(model); len(cycles) > 0 {
			list = append(list, graph.Diagnostics(model, cycles)...)
		}
		list.Sort()
		return nil, list
	}
	g, cycles := graph.Build(model)
	if len(cycles) > 0 {
		list = append(list, graph.Diagnostics(model, cycles)...)
		list.Sort()
		return nil, list
	}
	list.Sort()
	return &Sheet{Model: model, Graph: g, Program: program.Compile(model, g, program.Options{})}, list
}

// library parses the formula library once a process.
var library = sync.OnceValue(func() check.Library {
	lib := check.Library{Intrinsics: formulas.Intrinsics()}
	for _, file := range formulas.Files() {
		tree, list := syntax.Parse(file)
		if list.Errors() {
			panic("formulas: " + file.Name + ": " + list[0].Message) // a test parses every file
		}
		lib.Files = append(lib.Files, tree)
	}
	return lib
})

// Library returns the formula library, parsed.
func Library() check.Library { return library() }
