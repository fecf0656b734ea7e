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

// Input selects what Read reads: a worksheet with everything that it uses.
type Input struct {
	Path string // of the worksheet
	// Texts replace the files that they name, for example by an editor's open
	// buffers. Names are paths, as Path is.
	Texts []Text
	// Alone says that Read uses only Texts: no file, no folder.
	Alone bool
}

// Text is the text of a file, used instead of the one on the disk.
type Text struct{ Name, Text string }

// Reading is the result of reading an Input. It is complete if the list
// contains no error.
type Reading struct {
	// Sheet is nil if the worksheet itself cannot be read. If the list contains
	// errors, everything that depends on one has no value: Unsound returns the
	// error.
	Sheet *Sheet
	List  diag.List // in reading order, advices among them
	// Read lists the files that were read, worksheets and CSVs, the worksheet
	// first, as paths that can be opened; Missed lists those that could not be
	// read.
	Read, Missed []string
}

// Load reads the worksheet at path with everything it uses, checks it and
// compiles it. The list contains advices too; the Sheet is nil if it contains
// an error.
func Load(path string) (*Sheet, diag.List) { return whole(Input{Path: path}) }

// FromText checks and compiles a worksheet that is not in a folder: it cannot
// use other files.
func FromText(name, text string) (*Sheet, diag.List) {
	return FromTexts([]Text{{Name: name, Text: text}})
}

// FromTexts checks and compiles worksheets that are not in a folder; the first
// is the sheet, the others are the sheets that it uses, with names relative to
// its own.
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

// Beside returns the texts with names relative to the folder of the first, with
// / between folders, as in a use line.
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
	// Cycles are reported even if there are other errors.
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
