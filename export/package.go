package export

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// arrayMark is in front of a formula over whole columns. It is removed from
// texts of users before.
const arrayMark = '\uE003'

// partTime is the time of every part: a workbook's bytes depend on the sheet
// alone.
var partTime = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// partDate is partTime in the notation of zip files.
const partDate = 20<<9 | 1<<5 | 1

// packer collects a workbook's parts, corrects them, puts the rows of tabs in,
// and writes them in the order of their names.
type packer struct {
	w     io.Writer
	name  string
	body  bytes.Buffer
	parts []part
	// A reference to the library's File here would make the linker keep all its
	// methods, including a calculator of 4 MB: the library sees a packer as an
	// interface.
	slots chan struct{}
	rows  func(name string, head, tail []byte) *pieces // nil for a part without
	stamp func() string
	// custom are the custom properties, which wait for the stamp.
	custom []byte
}

// part is one part, which is being deflated.
type part struct {
	name string
	body *pieces
}

// packWith makes the library write a workbook's parts through a packer.
func packWith(f *excelize.File, rows *tabRows) {
	f.SetZipWriter(func(w io.Writer) excelize.ZipWriter {
		return &packer{w: w, slots: rows.slots, rows: rows.around, stamp: func() string { return rows.stamp().String() }}
	})
}

// Create begins a part.
func (p *packer) Create(name string) (io.Writer, error) {
	if err := p.finish(); err != nil {
		return nil, err
	}
	p.name = name
	return &p.body, nil
}

// AddFS is not needed for a workbook.
func (p *packer) AddFS(fs.FS) error { return errors.ErrUnsupported }

// finish corrects the current part and has it deflated.
func (p *packer) finish() error {
	if p.name == "" {
		return nil
	}
	name := p.name
	p.name = ""
	defer p.body.Reset()
	if name == customPart && p.custom == nil {
		p.custom = bytes.Clone(p.body.Bytes())
		return nil
	}
	data := repair(name, p.body.Bytes())
	head, tail, found := bytes.Cut(data, noRows)
	if body := p.rows(name, head, tail); body != nil {
		if !found {
			return fmt.Errorf("the part %s has no place for its rows", name)
		}
		p.parts = append(p.parts, part{name, body})
		return nil
	}
	body := newPieces(p.slots)
	body.add(bytes.Clone(data))
	p.parts = append(p.parts, part{name, body})
	return nil
}

// noRows is the library's placeholder for the rows.
var noRows = []byte("<sheetData></sheetData>")

// around returns the part of a tab's rows, or nil if it has none.
func (r *tabRows) around(name string, head, tail []byte) *pieces {
	if w := r.tabs[name]; w != nil {
		return w.around(head, tail)
	}
	return nil
}

// around ends the rows and puts the rest of their part before and after them.
func (w *rowText) around(head, tail []byte) *pieces {
	first := &piece{}
	first.deflate(append(bytes.Clone(head), "<sheetData>"...))
	w.body.all = slices.Insert(w.body.all, 0, first)
	w.text = append(append(w.text, "</sheetData>"...), tail...)
	w.body.add(w.text)
	w.text = nil
	return w.body
}

// Close writes the parts. The list of content types comes first, as readers
// that look at the head of a file expect.
func (p *packer) Close() error {
	if err := p.finish(); err != nil {
		return err
	}
	if p.custom != nil {
		p.name = customPart
		p.body.Write(bytes.Replace(p.custom, []byte(stampMark), []byte(p.stamp()), 1))
		if err := p.finish(); err != nil {
			return err
		}
	}
	slices.SortFunc(p.parts, func(a, b part) int {
		if first, second := a.name == contentTypes, b.name == contentTypes; first != second {
			if first {
				return -1
			}
			return 1
		}
		return strings.Compare(a.name, b.name)
	})
	z := zip.NewWriter(p.w)
	for i := range p.parts {
		if err := p.parts[i].write(z); err != nil {
			return err
		}
	}
	return z.Close()
}

// write adds the part to a zip file.
func (p *part) write(z *zip.Writer) error {
	data, size, sum := p.body.join()
	h := &zip.FileHeader{
		Name: p.name, Method: zip.Deflate, CRC32: sum,
		CompressedSize64: uint64(len(data)), UncompressedSize64: uint64(size),
	}
	//lint:ignore SA1019 a part that comes deflated has its time written as these fields say
	h.ModifiedDate = partDate
	out, err := z.CreateRaw(h)
	if err != nil {
		return err
	}
	_, err = out.Write(data)
	return err
}

const contentTypes = "[Content_Types].xml"

var (
	defaultType = regexp.MustCompile(`<Default [^>]*?(/>|></Default>)`)
	valueAxis   = regexp.MustCompile(`(?s)<(?:c:)?valAx>.*?</(?:c:)?valAx>`)
	// categoryOnly is what belongs to a category axis and is an error on the
	// x axis of a scatter chart.
	categoryOnly = regexp.MustCompile(`<(?:c:)?(auto|lblAlgn|lblOffset|noMultiLvlLbl) [^>]*?(/>|></(?:c:)?(auto|lblAlgn|lblOffset|noMultiLvlLbl)>)`)
)

// coreNames gives the core properties the prefix without which some readers
// refuse the whole file.
var coreNames = replacer{strings.NewReplacer(
	"<coreProperties xmlns=", "<cp:coreProperties xmlns:cp=", "</coreProperties>", "</cp:coreProperties>",
	"<lastModifiedBy", "<cp:lastModifiedBy", "</lastModifiedBy", "</cp:lastModifiedBy",
)}

// chartParts stores the x values of a chart as numbers instead of texts, which
// would be numbered 1, 2, 3. It also removes a second, horizontal direction of
// each title, which readers prefer to the first, and empty caches.
var chartParts = replacer{strings.NewReplacer(
	"<xVal><strRef>", "<xVal><numRef>", "</strRef></xVal>", "</numRef></xVal>",
	"<numCache><formatCode></formatCode></numCache>", "",
	`<spPr></spPr><txPr><a:bodyPr anchorCtr="false" rot="0" spcFirstLastPara="false"></a:bodyPr><a:p></a:p></txPr></title>`, "</title>",
)}

// firstPoint marks the first point of a line without marks: a line whose points are
// all at one place would not be seen.
var firstPoint = regexp.MustCompile(`<marker><symbol val="none"></symbol>(<size [^/]*></size><spPr>.*?</spPr>)</marker>(<xVal>)`)

const markedFirst = `<marker><symbol val="none"></symbol>$1</marker><dPt><idx val="0"></idx><marker><symbol val="circle"></symbol>$1</marker></dPt>$2`

type replacer struct{ *strings.Replacer }

func (r replacer) Replace(data []byte) []byte { return []byte(r.Replacer.Replace(string(data))) }

// repair corrects one part.
func repair(name string, data []byte) []byte {
	switch {
	case name == contentTypes:
		return sortDefaults(data)
	case name == "docProps/core.xml":
		return coreNames.Replace(data)
	case strings.HasPrefix(name, "xl/charts/"):
		data = firstPoint.ReplaceAll(chartParts.Replace(data), []byte(markedFirst))
		return valueAxis.ReplaceAllFunc(data, func(axis []byte) []byte { return categoryOnly.ReplaceAll(axis, nil) })
	}
	return data
}

// sortDefaults sorts the content types of extensions, whose order varies.
func sortDefaults(data []byte) []byte {
	found := defaultType.FindAll(data, -1)
	if len(found) == 0 {
		return data
	}
	at := defaultType.FindIndex(data)[0]
	sorted := slices.Clone(found)
	slices.SortFunc(sorted, bytes.Compare)
	rest := defaultType.ReplaceAll(data, nil)
	return slices.Concat(rest[:at], bytes.Join(sorted, nil), rest[at:])
}
