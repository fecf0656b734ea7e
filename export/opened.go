package export

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet/disk"
)

// The bounds of workbooks that are read; larger ones are refused. A workbook of
// ours with half a million formulas is within them.
const (
	maxBookBytes  = 64 << 20  // the file
	maxBookParts  = 10_000    // parts in it
	maxUnpacked   = 256 << 20 // all parts, unpacked
	minUnpacked   = 32 << 20  // any workbook may unpack to this size; beyond it
	maxRatio      = 60        // so many times its size
	maxMarkup     = 1 << 20   // text between two tags, or one tag
	maxBookFields = 2_000_000 // fields that hold something
	maxBookText   = 128 << 20 // content of all fields; a shared text counts for each
	maxBookDepth  = 64        // tags within each other
)

// The start of a file that is not a workbook, but was meant to be one.
const (
	compoundFile = "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" // of the old format, and of a file with a password
	openDocument = "application/vnd.oasis.opendocument"
)

var (
	errPacked = errors.New("it unpacks to more than a workbook of ours does")
	errMarkup = errors.New("it holds a text longer than any that is written")
)

// content is the content of one field of a workbook.
type content struct {
	kind, value, formula string
	format               formatKind
}

// isText reports whether a field holds a text.
func (c content) isText() bool { return c.kind == "s" || c.kind == "inlineStr" || c.kind == "str" }

// tabContent is a tab of a workbook that was opened.
type tabContent struct {
	name   string
	fields map[string]content // by place
	merged []string           // ranges of cells that were merged
}

// mergedWith returns the range that a cell was merged into; empty for one that
// shows its own content.
func (t tabContent) mergedWith(cell string) string {
	at, ok := spotOf(cell)
	for _, r := range t.merged {
		first, last, _ := strings.Cut(r, ":")
		a, okA := spotOf(first)
		b, okB := spotOf(last)
		if ok && okA && okB && at != a && at.column >= a.column && at.column <= b.column && at.row >= a.row && at.row <= b.row {
			return r
		}
	}
	return ""
}

// opened is the content of a workbook's file.
type opened struct {
	tabs  []tabContent
	refs  map[string]string // what names refer to
	props map[string]string // custom properties
}

// tab returns the fields of a tab; nil if there is no such tab.
func (o *opened) tab(name string) map[string]content { return o.called(name).fields }

// called returns the tab of a name, an empty one if there is none.
func (o *opened) called(name string) tabContent {
	for _, t := range o.tabs {
		if t.name == name {
			return t
		}
	}
	return tabContent{}
}

// openBook reads the workbook at path within the bounds.
func openBook(path string) (*opened, error) {
	f, info, err := disk.Open(path, maxBookBytes)
	if err != nil {
		return nil, cause(err)
	}
	defer func() { _ = f.Close() }()
	return readBook(f, info.Size())
}

// cause removes the path that os puts before an error.
func cause(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

func readBook(file io.ReaderAt, size int64) (*opened, error) {
	z, err := zip.NewReader(file, size)
	if err != nil {
		return nil, notPacked(file, err)
	}
	if len(z.File) > maxBookParts {
		return nil, errPacked
	}
	if err := onceEach(z); err != nil {
		return nil, err
	}
	bound := uint64(min(maxUnpacked, minUnpacked+maxRatio*size))
	total := uint64(0)
	for _, f := range z.File {
		// The declared size of a part may be wrong, so the unpacked bytes are
		// counted, too.
		if f.UncompressedSize64 > bound || total+f.UncompressedSize64 > bound {
			return nil, errPacked
		}
		total += f.UncompressedSize64
	}
	r := bookReader{z: z, left: int64(bound), room: maxBookFields, text: maxBookText, known: map[string]formatKind{}, out: &opened{refs: map[string]string{}, props: map[string]string{}}}
	if err := r.read(); err != nil {
		return nil, err
	}
	return r.out, nil
}

// notPacked describes why a file that is not an archive is not a workbook.
func notPacked(file io.ReaderAt, err error) error {
	start := make([]byte, len(compoundFile))
	if n, _ := file.ReadAt(start, 0); string(start[:n]) == compoundFile {
		return errors.New("it has a password, or the old format .xls: save it as .xlsx, without a password")
	}
	return err
}

// onceEach refuses an archive with two parts of the same name, of which
// programs may read either.
func onceEach(z *zip.Reader) error {
	seen := map[string]bool{}
	for _, f := range z.File {
		name := strings.ToLower(f.Name)
		if seen[name] {
			return fmt.Errorf("its part %s is in it twice: save it again with a spreadsheet program", f.Name)
		}
		seen[name] = true
	}
	return nil
}

// bookReader reads the parts of a workbook one after the other.
type bookReader struct {
	z      *zip.Reader
	left   int64 // bytes that may still be unpacked
	room   int   // fields that may still be kept
	text   int   // bytes that they may still hold
	shared []string
	// formats are those of the cell styles; known those of own formats.
	formats []formatKind
	known   map[string]formatKind
	inCells bool // within the list of cell styles
	out     *opened
}

// The parts that are read besides the tabs, by the end of their relationship's
// type, with their default paths.
const (
	bookPart   = "officeDocument"
	textsPart  = "sharedStrings"
	stylesPart = "styles"
	propsPart  = "custom-properties"
)

// read reads what is needed of the workbook.
func (r *bookReader) read() error {
	parts := map[string]string{bookPart: "xl/workbook.xml", textsPart: "xl/sharedStrings.xml", stylesPart: "xl/styles.xml", propsPart: "docProps/custom.xml"}
	if _, err := r.relations("", parts); err != nil {
		return err
	}
	if err := r.kindOfFile(parts[bookPart]); err != nil {
		return err
	}
	var names [][2]string // of tabs, with the key of their part
	if err := r.part(parts[bookPart], r.contents(&names)); err != nil {
		return err
	}
	target, err := r.relations(parts[bookPart], parts)
	if err != nil {
		return err
	}
	for _, p := range []struct {
		name string
		read func(*xml.Decoder, xml.StartElement) error
	}{{parts[textsPart], r.sharedText}, {parts[propsPart], r.property}, {parts[stylesPart], r.style}} {
		if err := r.part(p.name, p.read); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	for _, n := range names {
		if r.out.called(n[0]).fields != nil {
			return fmt.Errorf("its tab %s is in it twice", n[0])
		}
		if err := r.tab(n[0], target[n[1]]); err != nil {
			return err
		}
	}
	return nil
}

// contents reads the names of the tabs, and what other names refer to.
func (r *bookReader) contents(names *[][2]string) func(*xml.Decoder, xml.StartElement) error {
	return func(d *xml.Decoder, at xml.StartElement) error {
		switch at.Name.Local {
		case "sheet":
			*names = append(*names, [2]string{attr(at, "", "name"), attr(at, "relationships", "id")})
		case "definedName":
			text, err := textOf(d, at.Name.Local)
			if err != nil || attr(at, "", "localSheetId") != "" { // a copied tab has names of its own
				return err
			}
			name := attr(at, "", "name")
			if was, known := r.out.refs[name]; known && was != text {
				return fmt.Errorf("the name %s refers to %s and to %s", name, was, text)
			}
			r.out.refs[name] = text
		}
		return nil
	}
}

// relations reads the parts that a part, or the whole file, refers to, by key;
// unique parts are recorded in parts by their type. Programs name them
// differently.
func (r *bookReader) relations(of string, parts map[string]string) (map[string]string, error) {
	folder, file := path.Split(of)
	target := map[string]string{}
	err := r.part(folder+"_rels/"+file+".rels", func(_ *xml.Decoder, at xml.StartElement) error {
		if at.Name.Local != "Relationship" {
			return nil
		}
		part := attr(at, "", "Target")
		if !strings.HasPrefix(part, "/") {
			part = path.Join(folder, part)
		}
		part = strings.TrimPrefix(part, "/")
		target[attr(at, "", "Id")] = part
		kind := path.Base(attr(at, "", "Type"))
		if _, one := parts[kind]; one && attr(at, "", "TargetMode") != "External" {
			parts[kind] = part
		}
		return nil
	})
	if of == "" && errors.Is(err, os.ErrNotExist) {
		return target, nil
	}
	return target, err
}

// kindOfFile refuses files of other formats that are also archives.
func (r *bookReader) kindOfFile(book string) error {
	if strings.HasSuffix(book, ".bin") {
		return errors.New("it has the binary format .xlsb: save it as .xlsx")
	}
	f, err := r.z.Open("mimetype")
	if err != nil {
		return nil
	}
	defer func() { _ = f.Close() }()
	start := make([]byte, len(openDocument))
	if n, _ := io.ReadFull(f, start); string(start[:n]) == openDocument {
		return errors.New("it has the format OpenDocument (.ods): save it as .xlsx")
	}
	return nil
}

// attr returns an attribute; space is the end of its namespace, empty for any.
func attr(at xml.StartElement, space, name string) string {
	for _, a := range at.Attr {
		if a.Name.Local == name && strings.HasSuffix(a.Name.Space, space) {
			return a.Value
		}
	}
	return ""
}

// part calls visit with every tag of a part; visit may read further.
func (r *bookReader) part(name string, visit func(*xml.Decoder, xml.StartElement) error) error {
	f, err := r.z.Open(name)
	if err != nil {
		return fmt.Errorf("its part %s is missing: %w", name, cause(err))
	}
	defer func() { _ = f.Close() }()
	d := xml.NewTokenDecoder(&shallow{d: xml.NewDecoder(&markup{r: f, left: &r.left})})
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			switch at := token.(type) {
			case xml.StartElement:
				err = visit(d, at)
			case xml.Directive:
				err = errors.New("it declares a document type, which no workbook does")
			}
		}
		if err != nil {
			return fmt.Errorf("its part %s is damaged: %w", name, err)
		}
	}
}

// shallow passes tags on while their nesting is within the bound.
type shallow struct {
	d     *xml.Decoder
	depth int
}

// Token returns the next one.
func (n *shallow) Token() (xml.Token, error) {
	token, err := n.d.RawToken()
	switch token.(type) {
	case xml.StartElement:
		n.depth++
	case xml.EndElement:
		n.depth--
	}
	if n.depth > maxBookDepth {
		return nil, errMarkup
	}
	return token, err
}

// markup passes a part on while it stays within the bounds of the unpacked size
// and of one text or tag.
type markup struct {
	r    io.Reader
	left *int64
	run  int
}

// Read reads on.
func (m *markup) Read(p []byte) (int, error) {
	n, err := m.r.Read(p)
	if *m.left -= int64(n); *m.left < 0 {
		return 0, errPacked
	}
	for _, b := range p[:n] {
		if m.run++; b == '<' || b == '>' {
			m.run = 0
		}
		if m.run > maxMarkup {
			return 0, errMarkup
		}
	}
	return n, err
}

// textOf returns the text up to the end of the tag just read. In a rich text
// only the content of t counts, without phonetic text: the rest is layout.
func textOf(d *xml.Decoder, tag string) (string, error) {
	var b strings.Builder
	rich := tag == "is" || tag == "si"
	silent, inText := 0, 0 // depths
	for depth := 1; depth > 0; {
		token, err := d.Token()
		if err != nil {
			return "", err
		}
		switch t := token.(type) {
		case xml.StartElement:
			if depth++; depth > maxBookDepth {
				return "", errMarkup
			}
			switch {
			case t.Name.Local == "rPh" && silent == 0:
				silent = depth
			case t.Name.Local == "t" && inText == 0:
				inText = depth
			}
		case xml.EndElement:
			if depth == silent {
				silent = 0
			}
			if depth == inText {
				inText = 0
			}
			depth--
		case xml.CharData:
			if silent == 0 && (!rich || inText > 0) {
				b.Write(t)
			}
		}
		if b.Len() > maxMarkup {
			return "", errMarkup
		}
	}
	return unescaped(b.String()), nil
}

// unescaped reads _x000D_, a workbook's notation for a character that XML text
// cannot contain.
func unescaped(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	var b strings.Builder
	for {
		i := strings.Index(s, "_x")
		if i < 0 || i+7 > len(s) {
			return b.String() + s
		}
		n, err := strconv.ParseUint(s[i+2:i+6], 16, 16)
		if err != nil || s[i+6] != '_' {
			b.WriteString(s[:i+2])
			s = s[i+2:]
			continue
		}
		b.WriteString(s[:i])
		b.WriteRune(rune(n))
		s = s[i+7:]
	}
}

func (r *bookReader) sharedText(d *xml.Decoder, at xml.StartElement) error {
	if at.Name.Local != "si" {
		return nil
	}
	text, err := textOf(d, at.Name.Local)
	if r.room--; r.room < 0 {
		return errPacked
	}
	r.shared = append(r.shared, text)
	return err
}

func (r *bookReader) property(d *xml.Decoder, at xml.StartElement) error {
	if at.Name.Local != "property" {
		return nil
	}
	text, err := textOf(d, at.Name.Local)
	r.out.props[attr(at, "", "name")] = strings.TrimSpace(text)
	return err
}

// tab reads one tab.
func (r *bookReader) tab(name, part string) error {
	t := tabReader{r: r, fields: map[string]content{}, shared: map[string]sharedFormula{}}
	err := r.part(part, t.visit)
	r.out.tabs = append(r.out.tabs, tabContent{name, t.fields, t.merged})
	return err
}

// tabReader reads the fields of a tab.
type tabReader struct {
	r           *bookReader
	fields      map[string]content
	shared      map[string]sharedFormula
	merged      []string
	column, row int
}

// sharedFormula is a formula that other fields repeat, moved.
type sharedFormula struct {
	text        string
	column, row int
}

func (t *tabReader) visit(d *xml.Decoder, at xml.StartElement) error {
	switch at.Name.Local {
	case "row":
		t.row, t.column = t.row+1, 0
		if n, err := strconv.Atoi(attr(at, "", "r")); err == nil {
			t.row = n
		}
	case "c":
		return t.field(d, at)
	case "mergeCell":
		if t.r.room--; t.r.room < 0 {
			return errPacked
		}
		t.merged = append(t.merged, attr(at, "", "ref"))
	}
	return nil
}

// field reads one field.
func (t *tabReader) field(d *xml.Decoder, at xml.StartElement) error {
	t.column++
	if ref := attr(at, "", "r"); ref != "" {
		column, row, err := excelize.CellNameToCoordinates(ref)
		if err != nil {
			return err
		}
		t.column, t.row = column, row
	}
	c := content{kind: attr(at, "", "t")}
	if n, err := strconv.Atoi(attr(at, "", "s")); err == nil && n >= 0 && n < len(t.r.formats) {
		c.format = t.r.formats[n]
	}
	for {
		token, err := d.Token()
		if err != nil {
			return err
		}
		switch in := token.(type) {
		case xml.EndElement:
			return t.keep(c)
		case xml.StartElement:
			text, err := textOf(d, in.Name.Local)
			if err != nil {
				return err
			}
			switch in.Name.Local {
			case "f":
				c.formula = t.formula(in, text)
			case "v", "is":
				c.value = text
			}
		}
	}
}

// formula returns a field's formula: its own, or one that is shared.
func (t *tabReader) formula(at xml.StartElement, text string) string {
	if attr(at, "", "t") != "shared" {
		return text
	}
	key := attr(at, "", "si")
	if text != "" {
		t.shared[key] = sharedFormula{text, t.column, t.row}
		return text
	}
	s := t.shared[key]
	return movedFormula(s.text, t.column-s.column, t.row-s.row)
}

func (t *tabReader) keep(c content) error {
	if c.kind == "s" {
		n, err := strconv.Atoi(c.value)
		if err != nil || n < 0 || n >= len(t.r.shared) {
			return fmt.Errorf("there is no text %q", c.value)
		}
		c.value = t.r.shared[n]
	}
	if c.value == "" && c.formula == "" {
		return nil
	}
	t.r.text -= len(c.value) + len(c.formula)
	if t.r.room--; t.r.room < 0 || t.r.text < 0 {
		return errPacked
	}
	place := at(t.column, t.row)
	if _, twice := t.fields[place]; twice {
		return fmt.Errorf("its cell %s is in it twice", place)
	}
	t.fields[place] = c
	return nil
}
