package editor

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Location is a place in a file.
type Location struct {
	Path string
	File *source.File
	Span source.Span
}

// Definition returns the declarations of the name at an offset: in the
// document, in a worksheet that it uses, or in the library.
func (d *Document) Definition(offset int32) []Location {
	o := d.at(offset)
	if o == nil {
		return nil
	}
	if o.Kind == TextName {
		path := d.beside(d.Path, o.Name)
		return []Location{{Path: path, File: source.New(path, "")}}
	}
	var out []Location
	for _, f := range d.index().files {
		for _, other := range f.found {
			if other.Symbol == o.Symbol && other.Declares {
				out = append(out, Location{d.pathOf(f), f.file, other.Span})
			}
		}
	}
	if len(out) > 0 {
		// The declaration in a used file comes last and is the actual one.
		return out[len(out)-1:]
	}
	return libraryDefinition(o.Symbol)
}

func libraryDefinition(want Symbol) []Location {
	for _, t := range sheet.Library().Files {
		for _, f := range newIndex([]*syntax.Worksheet{t}).files {
			for _, o := range f.found {
				if o.Symbol == want && o.Declares {
					if path, err := libraryFile(t); err == nil {
						return []Location{{path, f.file, o.Span}}
					}
				}
			}
		}
	}
	return nil
}

// beside returns the path of a file that the one at path names.
func (d *Document) beside(path, name string) string {
	return filepath.Join(filepath.Dir(path), filepath.FromSlash(name))
}

// pathOf returns the path of one of the document's files.
func (d *Document) pathOf(f *fileIndex) string {
	if f.file == d.File {
		return d.Path
	}
	return f.path
}

// References returns the places of the symbol at an offset of the worksheet at
// path, in all worksheets that share it.
func (w *Workspace) References(path string, offset int32, declarations bool) []Location {
	d := w.Document(path)
	o := d.at(offset)
	if o == nil || o.Kind == TextName {
		return nil
	}
	var out []Location
	for _, root := range w.sharing(d, o.Symbol) {
		for _, f := range root.index().files {
			for _, other := range f.found {
				if other.Symbol == o.Symbol && (declarations || !other.Declares) {
					at := Location{root.pathOf(f), f.file, other.Span}
					if !slices.ContainsFunc(out, func(l Location) bool { return l.Path == at.Path && l.Span == at.Span }) {
						out = append(out, at)
					}
				}
			}
		}
	}
	return out
}

// Highlights returns the places of the symbol at an offset in the document.
func (d *Document) Highlights(offset int32) []Occurrence {
	o := d.at(offset)
	if o == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(d.index().files[0].found), func(other Occurrence) bool { return other.Symbol != o.Symbol })
}

// mostSearched bounds the worksheets that are searched for a name.
const mostSearched = 2000

// sharing returns the documents in which a symbol of d may occur: d itself, and
// every worksheet of the folders that uses a file in which it occurs.
func (w *Workspace) sharing(d *Document, s Symbol) []*Document {
	if s.Kind == ParameterName || s.Kind == UnitName {
		return []*Document{d}
	}
	out := []*Document{d}
	var declared []string
	for _, f := range d.index().files {
		if slices.ContainsFunc(f.found, func(o Occurrence) bool { return o.Symbol == s && o.Declares }) {
			declared = append(declared, d.pathOf(f))
		}
	}
	for _, path := range w.worksheets(d.Path) {
		if path == d.Path {
			continue
		}
		other := w.Document(path)
		if slices.ContainsFunc(declared, other.Reads) {
			out = append(out, other)
		}
	}
	return out
}

// worksheets returns the worksheets below the folders and beside path.
func (w *Workspace) worksheets(path string) []string {
	found := map[string]bool{}
	for _, folder := range append(w.Folders[:len(w.Folders):len(w.Folders)], filepath.Dir(path)) {
		_ = filepath.WalkDir(folder, func(p string, e fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return nil // unreadable files cannot be searched
			case e.IsDir() && p != folder && strings.HasPrefix(e.Name(), "."):
				return fs.SkipDir
			case len(found) >= mostSearched:
				return fs.SkipAll
			case strings.HasSuffix(p, ".leaf"):
				found[p] = true
			}
			return nil
		})
	}
	for _, p := range w.Open() {
		found[p] = true
	}
	var out []string
	for p := range found {
		out = append(out, p)
	}
	slices.Sort(out)
	return out
}

// FileEdits are the edits of one file.
type FileEdits struct {
	Path  string
	File  *source.File
	Edits []diag.Edit
}

// PrepareRename returns the name at an offset, or why it cannot be renamed.
func (d *Document) PrepareRename(offset int32) (*Occurrence, error) {
	o := d.at(offset)
	switch {
	case o == nil:
		return nil, fmt.Errorf("there is no name here")
	case o.Kind == TextName:
		return nil, fmt.Errorf("a path is not renamed here")
	case o.Kind == UnitName && !d.declares(o.Symbol):
		return nil, fmt.Errorf("%s is a unit of the language", o.Name)
	case !d.declares(o.Symbol):
		return nil, fmt.Errorf("%s belongs to the library, which cannot be changed", o.Name)
	}
	return o, nil
}

func (d *Document) declares(s Symbol) bool {
	for _, f := range d.index().files {
		if slices.ContainsFunc(f.found, func(o Occurrence) bool { return o.Symbol == s && o.Declares }) {
			return true
		}
	}
	return false
}

// Rename renames the symbol at an offset of the worksheet at path everywhere.
// It refuses if the sheets would break or change.
func (w *Workspace) Rename(path string, offset int32, name string) ([]FileEdits, error) {
	d := w.Document(path)
	o, err := d.PrepareRename(offset)
	if err != nil {
		return nil, err
	}
	if err := admitName(name); err != nil {
		return nil, err
	}
	if name == o.Name {
		return nil, nil
	}
	var out []FileEdits
	for _, at := range w.References(path, offset, true) {
		i := slices.IndexFunc(out, func(f FileEdits) bool { return f.Path == at.Path })
		if i < 0 {
			i = len(out)
			out = append(out, FileEdits{Path: at.Path, File: at.File})
		}
		out[i].Edits = append(out[i].Edits, diag.Edit{Span: at.Span, New: name})
	}
	return out, w.try(w.sharing(d, o.Symbol), out, o.Symbol, name)
}

// admitName refuses a text that cannot be a name.
func admitName(name string) error {
	switch {
	case name == "":
		return fmt.Errorf("a name is needed")
	case len(name) > source.MaxNameBytes:
		return fmt.Errorf("a name has at most %d characters", source.MaxNameBytes)
	case syntax.IsReserved(name):
		return fmt.Errorf("%s is a word of the language", name)
	case name[0] < 'a' || name[0] > 'z':
		return fmt.Errorf("a name begins with a small letter")
	}
	for _, r := range name {
		if r != '_' && (r < 'a' || r > 'z') && (r < '0' || r > '9') {
			return fmt.Errorf("a name has small letters, digits and _ only, as in tyre_rollout")
		}
	}
	return nil
}

// try reads the documents with edits applied, and reports problems: a new
// error, or an occurrence that means something else.
func (w *Workspace) try(docs []*Document, edits []FileEdits, s Symbol, name string) error {
	w.mu.Lock()
	texts := map[string]string{}
	for p, text := range w.texts {
		texts[p] = text
	}
	w.mu.Unlock()
	for _, f := range edits {
		texts[f.Path] = diag.Apply(f.File.Text, f.Edits)
	}
	renamed := Symbol{s.Kind, name, s.Owner}
	for _, before := range docs {
		w.mu.Lock()
		after := w.read(before.Path, texts)
		w.mu.Unlock()
		if e := newError(before.List(), after.List()); e != nil {
			return fmt.Errorf("%s cannot be called %s: %s", s.Name, name, e.Message)
		}
		if count(before, renamed) > 0 || count(before, s) != count(after, renamed) {
			return fmt.Errorf("%s cannot be called %s: that name has another meaning in %s", s.Name, name, filepath.Base(before.Path))
		}
	}
	return nil
}

// newError returns the first error of after beyond those of before.
func newError(before, after diag.List) *diag.Diagnostic {
	had := 0
	for _, d := range before {
		if d.Severity == diag.Error {
			had++
		}
	}
	for i := range after {
		if after[i].Severity == diag.Error {
			if had--; had < 0 {
				return &after[i]
			}
		}
	}
	return nil
}

func count(d *Document, s Symbol) int {
	n := 0
	for _, f := range d.index().files {
		for _, o := range f.found {
			if o.Kind == s.Kind && o.Name == s.Name && (o.Owner == s.Owner || s.Kind == TableName) {
				n++
			}
		}
	}
	return n
}
