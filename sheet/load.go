package sheet

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"gearleaf/sheet/check"
	"gearleaf/sheet/diag"
	"gearleaf/sheet/disk"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

// loader reads a sheet and everything it uses. All paths stay inside the folder
// of the first sheet; os.Root enforces this, symbolic links included.
type loader struct {
	root  *os.Root          // nil if nothing but texts is read
	texts map[string]string // read in place of files, by path
	base  string            // prefix of a path, to open it
	found Reading
	files []check.File
	paths []string       // of files, slash-separated, relative to root
	index map[string]int // the inverse of paths
	list  diag.List
}

// openLoader returns a loader for the folder of the worksheet of in, and the
// worksheet's path in it.
func openLoader(in Input) (*loader, string, error) {
	l := &loader{index: map[string]int{}, texts: map[string]string{}, base: filepath.Dir(in.Path)}
	if in.Alone {
		for _, t := range Beside(in.Texts) {
			l.texts[t.Name] = t.Text
		}
		return l, filepath.Base(in.Path), nil
	}
	file, err := resolve(in.Path)
	if err != nil {
		return nil, "", err
	}
	folder := filepath.Dir(file)
	if l.root, err = os.OpenRoot(folder); err != nil {
		return nil, "", err
	}
	for _, t := range in.Texts {
		if at, err := resolve(t.Name); err == nil {
			if rel, err := filepath.Rel(folder, at); err == nil && filepath.IsLocal(rel) {
				l.texts[filepath.ToSlash(rel)] = t.Text
			}
		}
	}
	return l, filepath.Base(file), nil
}

// resolve returns the absolute path of a file, links followed. The file itself
// need not exist: an editor may not have saved it yet.
func resolve(file string) (string, error) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return "", err
	}
	at, err := filepath.EvalSymlinks(abs)
	if !errors.Is(err, fs.ErrNotExist) {
		return at, err
	}
	folder, err := filepath.EvalSymlinks(filepath.Dir(abs))
	return filepath.Join(folder, filepath.Base(abs)), err
}

func (l *loader) close() {
	if l.root != nil {
		l.root.Close()
	}
}

// read returns the text of the file at p, relative to the root; shown is the
// name for diagnostics.
func (l *loader) read(p, shown string) (*source.File, *diag.Diagnostic) {
	text, err := l.text(p)
	switch {
	case errors.Is(err, errOutside):
		return nil, &diag.Diagnostic{Code: diag.LoadOutside, Message: fmt.Sprintf("%s %v", shown, err), Help: moveInside}
	case errors.Is(err, errFolder):
		return nil, &diag.Diagnostic{Code: diag.LoadUnreadable, Message: fmt.Sprintf("%s is a folder, not a worksheet", shown)}
	case err != nil:
		return nil, unreadable(shown, err)
	}
	file, d := admitSheet(shown, text)
	if _, laid := l.texts[p]; laid {
		return file, d
	}
	if cut := cutOff(filepath.Join(l.root.Name(), filepath.FromSlash(p)), shown, text); cut != nil {
		return nil, cut
	}
	return file, d
}

// admitSheet is admitText for a worksheet, which must not contain control
// characters that a terminal or an editor would interpret instead of showing.
// The parser refuses the ASCII ones, with their place.
func admitSheet(name, text string) (*source.File, *diag.Diagnostic) {
	file, d := admitText(name, text)
	if d != nil {
		return nil, d
	}
	if n := strings.Count(text, "\n"); n > source.MaxLines {
		return nil, &diag.Diagnostic{
			Code:    diag.LoadTooLarge,
			Message: fmt.Sprintf("%s has %d lines; the bound is %d", name, n, source.MaxLines),
		}
	}
	if !mayHide(text) {
		return file, nil
	}
	var edits []diag.Edit
	for at, r := range text {
		if r < 0x7f || diag.Visible(r) == r || r == '\ufeff' && at == 0 {
			continue
		}
		span := source.Span{Start: int32(at), End: int32(at + utf8.RuneLen(r))}
		edits = append(edits, diag.Edit{Span: span})
	}
	if len(edits) == 0 {
		return file, nil
	}
	r, _ := utf8.DecodeRuneInString(text[edits[0].Span.Start:])
	return nil, &diag.Diagnostic{
		Code: diag.CharacterControl, File: file, Span: edits[0].Span,
		Message: fmt.Sprintf("there is a control character (%U) here, which is not shown but changes what is", r),
		Help:    "remove it",
		Repairs: []diag.Repair{{Title: "remove all such characters", Edits: edits}},
	}
}

// mayHide reports whether text contains a byte with which control characters
// beyond C0 begin.
func mayHide(text string) bool {
	for _, first := range []byte{0x7f, 0xC2, 0xD8, 0xE2, 0xEF} {
		if strings.IndexByte(text, first) >= 0 {
			return true
		}
	}
	return false
}

// cutOff refuses a file that a killed program has only partly written, and
// offers the earlier text.
func cutOff(path, shown, text string) *diag.Diagnostic {
	backup, old, ok := disk.CutOff(path)
	if !ok {
		return nil
	}
	whole := source.Span{End: int32(min(len(text), math.MaxInt32))}
	return &diag.Diagnostic{
		Code: diag.LoadCutOff, File: source.New(shown, text),
		Message: fmt.Sprintf("a write of %s was interrupted; the earlier text is complete in %s", shown, backup),
		Help:    "gearleaf check --repair restores it; or remove that file, if this one is right",
		Repairs: []diag.Repair{{Title: "restore the earlier text", Edits: []diag.Edit{{Span: whole, New: string(old)}}}},
	}
}

const moveInside = "put the file into the folder of the sheet, or below it"

var (
	errOutside = errors.New("leads outside the folder of the sheet")
	errFolder  = errors.New("it is a folder")
	errNoText  = errors.New("it is not among the texts")
	errSpecial = errors.New("it is not an ordinary file")
)

// text returns the text of the file at p and records the request.
func (l *loader) text(p string) (string, error) {
	text, err := l.textOf(p)
	list := &l.found.Read
	if err != nil {
		list = &l.found.Missed
	}
	if shown := filepath.Join(l.base, filepath.FromSlash(p)); !slices.Contains(*list, shown) {
		*list = append(*list, shown)
	}
	return text, err
}

func (l *loader) textOf(p string) (string, error) {
	text, ok := l.texts[p]
	switch {
	case ok:
		return text, nil
	case l.root == nil:
		return "", errNoText
	}
	return l.readFile(p)
}

// readFile reads the file at p, at most one byte more than the bound. It
// refuses files that are not regular: reading a pipe could block for ever.
func (l *loader) readFile(p string) (string, error) {
	info, err := l.root.Stat(filepath.FromSlash(p))
	switch {
	case err != nil:
		if strings.HasSuffix(err.Error(), "path escapes from parent") { // what os.Root says; it has no error to compare with
			return "", errOutside
		}
		return "", err
	case info.IsDir():
		return "", errFolder
	case !info.Mode().IsRegular():
		return "", errSpecial
	}
	f, err := l.root.Open(filepath.FromSlash(p))
	if err != nil {
		return "", err
	}
	defer f.Close()
	var text strings.Builder
	text.Grow(int(min(info.Size(), source.MaxFileBytes+1)))
	_, err = io.Copy(&text, io.LimitReader(f, source.MaxFileBytes+1))
	return text.String(), err
}

// admitText turns the bytes of a file into source, or reports why they are not
// text.
func admitText(name, text string) (*source.File, *diag.Diagnostic) {
	if len(text) > source.MaxFileBytes {
		return nil, &diag.Diagnostic{
			Code:    diag.LoadTooLarge,
			Message: fmt.Sprintf("%s is larger than %d MiB, the largest file that is read", name, source.MaxFileBytes>>20),
		}
	}
	file := source.New(name, text)
	if at := firstInvalid(text); at >= 0 {
		span := source.Span{Start: int32(at), End: int32(at + 1)}
		return nil, &diag.Diagnostic{
			Code: diag.LoadNotText, File: file, Span: span,
			Message: fmt.Sprintf("this byte (0x%02X) is not UTF-8 text", text[at]),
			Help:    "save the worksheet as UTF-8",
		}
	}
	return file, nil
}

func firstInvalid(text string) int {
	if utf8.ValidString(text) {
		return -1
	}
	for i := 0; i < len(text); {
		if text[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(text[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}

// unreadable describes why a file could not be opened.
func unreadable(name string, err error) *diag.Diagnostic {
	return &diag.Diagnostic{Code: diag.LoadUnreadable, Message: Unreadable(name, err).Error()}
}

// Unreadable returns the error that the file at name cannot be read, with the
// cause but without the path that os puts in front of it.
func Unreadable(name string, err error) error {
	return fmt.Errorf("%s cannot be read: %w", name, cause(err))
}

// cause removes the path that os puts before an error, because the message
// already names the file.
func cause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// add parses file, stores it at path p and loads its uses. walk contains the
// paths from the first sheet to this one.
func (l *loader) add(file *source.File, p string, walk []string) int {
	tree, list := syntax.Parse(file)
	l.list = append(l.list, list...)
	at := len(l.files)
	l.files = append(l.files, check.File{Tree: tree, Uses: map[*syntax.Use]int{}})
	l.paths = append(l.paths, p)
	if l.index != nil {
		l.index[p] = at
	}
	walk = append(walk[:len(walk):len(walk)], p)
	for _, s := range tree.Stmts {
		if u, ok := s.(*syntax.Use); ok {
			if used, ok := l.use(u, at, walk); ok {
				l.files[at].Uses[u] = used
			}
		}
	}
	return at
}

// use loads the worksheet that u names in the file at index at.
func (l *loader) use(u *syntax.Use, at int, walk []string) (int, bool) {
	report := func(code diag.Code, help, format string, args ...any) (int, bool) {
		l.list.Add(diag.Diagnostic{
			Code: code, File: l.files[at].Tree.File, Span: u.Path.Span,
			Message: fmt.Sprintf(format, args...), Help: help,
		})
		return 0, false
	}
	p, err := l.resolve(l.paths[at], u.Path.Text)
	if err != nil {
		return report(diag.LoadOutside, moveInside, "%v", err)
	}
	for i, w := range walk {
		if w == p {
			circle := append(append([]string{}, walk[i:]...), p)
			return report(diag.LoadCycle, "remove one of these uses", "worksheets use each other in a cycle: %s", strings.Join(circle, " → "))
		}
	}
	if i, ok := l.index[p]; ok {
		return i, true
	}
	if len(l.files) > source.MaxUses || len(walk) > source.MaxUseDepth {
		return report(diag.LoadTooMany, "", "more than %d used worksheets, or uses more than %d deep", source.MaxUses, source.MaxUseDepth)
	}
	file, d := l.read(p, l.shown(p))
	if d != nil {
		if d.File == nil {
			d.File, d.Span = l.files[at].Tree.File, u.Path.Span
		}
		l.list.Add(*d)
		return 0, false
	}
	return l.add(file, p, walk), true
}

// resolve returns the root-relative path of a file named in the file at from.
func (l *loader) resolve(from, name string) (string, error) {
	switch {
	case name == "" || strings.ContainsRune(name, 0):
		return "", fmt.Errorf("%q is not the name of a file", name)
	case strings.ContainsRune(name, '\\'):
		return "", fmt.Errorf("%q has a \\: write / between folders", name)
	case path.IsAbs(name) || !filepath.IsLocal(filepath.FromSlash(path.Join(path.Dir(from), name))):
		return "", fmt.Errorf("%q is outside the folder of the sheet", name)
	}
	return path.Join(path.Dir(from), name), nil
}

// shown is the name of a used file in diagnostics: the path by which it would
// be opened from the folder in which the first sheet was opened.
func (l *loader) shown(p string) string {
	first := l.files[0].Tree.File.Name
	return filepath.ToSlash(filepath.Join(filepath.Dir(first), filepath.FromSlash(p)))
}
