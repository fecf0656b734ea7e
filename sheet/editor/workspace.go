package editor

import (
	"context"
	"path/filepath"
	"slices"
	"sync"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// Workspace is the worksheets that an editor has open, each with its text in
// the editor. Its methods may be called from several goroutines.
type Workspace struct {
	mu    sync.Mutex
	texts map[string]string    // by path
	docs  map[string]*Document // the last reading of each open worksheet
	last  map[string]values    // the last good values of each
	// Folders are searched for worksheets that use a renamed one.
	Folders []string
}

// values are values as shown, by name.
type values map[string]string

// NewWorkspace returns a Workspace with nothing open.
func NewWorkspace() *Workspace {
	return &Workspace{texts: map[string]string{}, docs: map[string]*Document{}, last: map[string]values{}}
}

// Set replaces the text of the worksheet at path.
func (w *Workspace) Set(path, text string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.texts[path] = text
	w.forget(path)
}

// Close removes the text of the worksheet at path.
func (w *Workspace) Close(path string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.texts, path)
	delete(w.last, path)
	w.forget(path)
	delete(w.docs, path)
}

// Changed says that the file at path has changed on the disk.
func (w *Workspace) Changed(path string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.forget(path)
}

// forget drops the readings that path is part of.
func (w *Workspace) forget(path string) {
	for at, d := range w.docs {
		if at == path || d.Reads(path) {
			d.end()
			delete(w.docs, at)
		}
	}
}

// Text returns the text of an open worksheet.
func (w *Workspace) Text(path string) (string, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	text, open := w.texts[path]
	return text, open
}

// Open returns the paths of the open worksheets, in order.
func (w *Workspace) Open() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	var out []string
	for path := range w.texts {
		out = append(out, path)
	}
	slices.Sort(out)
	return out
}

// Document returns the worksheet at path, read with all it uses and computed,
// from the open texts, otherwise from the disk.
func (w *Workspace) Document(path string) *Document {
	w.mu.Lock()
	defer w.mu.Unlock()
	if d := w.docs[path]; d != nil {
		return d
	}
	d := w.read(path, w.texts)
	if _, open := w.texts[path]; open {
		w.docs[path] = d
	}
	return d
}

// read reads the worksheet at path with texts in place of the files.
func (w *Workspace) read(path string, texts map[string]string) *Document {
	in := sheet.Input{Path: path}
	for name, text := range texts {
		in.Texts = append(in.Texts, sheet.Text{Name: name, Text: text})
	}
	d := &Document{Path: path, Reading: sheet.Read(in), old: w.last[path]}
	if d.Sheet() == nil {
		text := texts[path]
		d.File = source.New(path, text)
		d.Tree, _ = syntax.Parse(d.File)
		return d
	}
	d.File = d.Sheet().Model.Files[0].File
	d.Tree = d.Sheet().Model.Files[0].Tree()
	d.result = d.Sheet().Evaluate()
	if !d.List().Errors() {
		d.remember()
		w.last[path] = d.old
	}
	return d
}

// State is the state of a document's values.
type State uint8

// The states of values: computed by one evaluator, by both, or withdrawn
// because the two differ.
const (
	Unconfirmed State = iota
	Confirmed
	Withdrawn
)

// Document is one reading of a worksheet. Its text never changes: an edit
// makes another one.
type Document struct {
	Path    string
	File    *source.File
	Tree    *syntax.Worksheet
	Reading *sheet.Reading

	use    sync.Mutex // held by readers of values: the evaluator is not safe for concurrent use
	mu     sync.Mutex
	stop   context.CancelFunc // of a confirmation that is running
	ended  bool
	state  State
	err    error // why the values were withdrawn
	result *sheet.Result
	old    values // from the last reading without an error
	found  *index
}

// Sheet returns the sheet; nil if the file is not text.
func (d *Document) Sheet() *sheet.Sheet { return d.Reading.Sheet }

// List returns the diagnostics.
func (d *Document) List() diag.List { return d.Reading.List }

// Reads reports whether the file at path is part of the document, or is
// missing from it.
func (d *Document) Reads(path string) bool {
	same := func(p string) bool { return p == path || filepath.Clean(p) == path }
	return slices.ContainsFunc(d.Reading.Read, same) || slices.ContainsFunc(d.Reading.Missed, same)
}

// end stops a confirmation that is running; the document is out of date.
func (d *Document) end() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.ended = true
	if d.stop != nil {
		d.stop()
	}
}

// State returns the state of the values.
func (d *Document) State() State {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.state
}

// Confirm lets the second evaluator compute the sheet as well, and returns the
// new state. It stops if the document is requested meanwhile, and when the
// context ends; then the values remain unconfirmed.
func (d *Document) Confirm(ctx context.Context) State {
	d.mu.Lock()
	if d.ended || d.result == nil || d.state != Unconfirmed {
		defer d.mu.Unlock()
		return d.state
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	d.stop = stop
	d.mu.Unlock()

	d.use.Lock()
	err := d.result.Confirm(ctx)
	d.use.Unlock()

	d.mu.Lock()
	defer d.mu.Unlock()
	d.stop = nil
	switch {
	case ctx.Err() != nil:
	case err != nil:
		d.state, d.err = Withdrawn, err
	default:
		d.state = Confirmed
	}
	return d.state
}

// with calls do while nothing else reads values. It stops a running
// confirmation.
func (d *Document) with(do func()) {
	d.mu.Lock()
	if d.stop != nil {
		d.stop()
	}
	d.mu.Unlock()
	d.use.Lock()
	defer d.use.Unlock()
	do()
}

// Disagreement returns why the values were withdrawn, nil if they were not.
func (d *Document) Disagreement() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.err
}

// remember keeps the values as shown.
func (d *Document) remember() {
	d.old = values{}
	for _, c := range d.Sheet().Model.Cells {
		if c.Origin.File == 0 && !c.Given {
			if v := d.result.Cell(c); !v.IsFault() && !v.IsBlank() {
				d.old[c.Name] = d.Sheet().Text(&c.Quantity, v.V)
			}
		}
	}
	for _, t := range d.Sheet().Model.Tables {
		for _, c := range t.Columns {
			if t.Origin.File == 0 && !t.Library && !c.Given {
				if text, ok := d.ends(c); ok {
					d.old[t.Name+"."+c.Name] = text
				}
			}
		}
	}
}

// ends returns the first and the last value of a column.
func (d *Document) ends(c *check.Column) (string, bool) {
	live, _ := d.result.Live(c.Table)
	if live == 0 {
		return "", false
	}
	first, last := d.result.Entry(c, 0), d.result.Entry(c, live-1)
	if first.IsFault() || last.IsFault() {
		return "", false
	}
	if live == 1 {
		return d.valueText(&c.Quantity, first), true
	}
	a, _ := d.Sheet().Shown(&c.Quantity, first.V)
	if first.IsBlank() {
		a = blankText
	}
	return a + " … " + d.valueText(&c.Quantity, last), true
}

// blankText is the text of a blank.
const blankText = "blank"

func (d *Document) valueText(q *check.Quantity, v sheet.Value) string {
	if v.IsBlank() {
		return blankText
	}
	return d.Sheet().Text(q, v.V)
}

// FileDiagnostics are the diagnostics of one file.
type FileDiagnostics struct {
	Path string
	File *source.File
	List diag.List
}

// Diagnostics returns the diagnostics by file, the document's own file first,
// even if it has none. A diagnostic without a place is at its top.
func (d *Document) Diagnostics() []FileDiagnostics {
	out := []FileDiagnostics{{Path: d.Path, File: d.File}}
	for _, one := range d.List() {
		file := one.File
		if file == nil || file.Text == d.File.Text && file.Name == d.File.Name {
			file = d.File
		}
		at := slices.IndexFunc(out, func(f FileDiagnostics) bool { return f.File == file })
		if at < 0 {
			at = len(out)
			out = append(out, FileDiagnostics{Path: file.Name, File: file})
		}
		out[at].List.Add(one)
	}
	return out
}
