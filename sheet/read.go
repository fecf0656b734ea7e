package sheet

import (
	"path/filepath"
	"strings"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/program"
	"gearleaf/sheet/source"
)

// Input says what Read reads: a worksheet with everything that it uses.
type Input struct {
	Path string // of the worksheet
	// Texts are read in place of the files that they name, as an editor's
	// open buffers are. Names are paths, as Path is.
	Texts []Text
	// Alone says that only Texts is read: no file, no folder.
	Alone bool
}

// Text is the text of a file, used instead of the one on the disk.
type Text struct{ Name, Text string }

// Reading is the result of reading an Input. It is complete if the list holds
// no error.
type Reading struct {
	// Sheet is nil where the worksheet itself cannot be read. If the list holds
	// errors, what depends on one has no value: Unsound says why.
	Sheet *Sheet
	List  diag.List // in reading order, advices among them
	// Read is the files that were read, worksheets and CSVs, the worksheet
	// first, as paths that can be opened; Missed is those that could not be.
	Read, Missed []string
}

// Load reads the worksheet at path with everything it uses, checks it and
// compiles it. The list holds advices too; the Sheet is nil when it holds an
// error.
func Load(path string) (*Sheet, diag.List) { return whole(Input{Path: path}) }

// FromText checks and compiles a worksheet that is not in a folder: it cannot
// use other files.
func FromText(name, text string) (*Sheet, diag.List) {
	return FromTexts([]Text{{Name: name, Text: text}})
}

// FromTexts checks and compiles worksheets that are not in a folder; the first
// is the sheet, the others are those that it uses, their names beside its own.
func FromTexts(texts []Text) (*Sheet, diag.List) {
	return whole(Input{Path: texts[0].Name, Texts: texts, Alone: true})
}

// whole returns the sheet of in, nil if it has any error.
func whole(in Input) (*Sheet, diag.List) {
	r := read(in, false)
	return r.Sheet, r.List
}

// Read reads, checks and compiles the worksheet of in. All ways of reading a
// sheet go through it.
func Read(in Input) *Reading { return read(in, true) }

// read is Read; broken says that a sheet with errors is returned as well.
func read(in Input, broken bool) *Reading {
	l, name, err := openLoader(in)
	if err != nil {
		return &Reading{List: diag.List{*unreadable(in.Path, err)}, Missed: []string{in.Path}}
	}
	defer l.close()
	out := &l.found
	file, d := l.read(name, in.Path)
	if d != nil {
		out.List.Add(*d)
		return out
	}
	out.Sheet, out.List = l.build(file, name, broken)
	if out.Sheet != nil && !in.Alone {
		out.Sheet.Path = in.Path
	}
	return out
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

// build runs the stages on file. A sheet with errors is nil unless broken is
// set.
func (l *loader) build(file *source.File, path string, broken bool) (*Sheet, diag.List) {
	l.add(file, path, nil)
	list := l.list
	model, found := check.Check(check.Input{Files: l.files, Library: library(), CSV: l.csv})
	list = append(list, found...)
	// A cycle is reported even where something else is wrong.
	g, cycles := graph.Build(model)
	list = append(list, graph.Diagnostics(model, cycles)...)
	list.Sort()
	var u *unsound
	if list.Errors() {
		if !broken {
			return nil, list
		}
		u = takeOut(model, g, list)
		g, _ = graph.Build(model)
	}
	return &Sheet{Model: model, Graph: g, Program: program.Compile(model, g, program.Options{}), unsound: u}, list
}
