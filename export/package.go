package export

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"errors"
	"hash/crc32"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// The stream writer of a workbook gives every formula a text as its cached
// value and cuts numbers to 15 digits. The right value is put into the cached
// text after a mark, and corrected here, in the one place through which every
// part is written. The marks are removed from texts of users before.
const (
	numberMark = '\uE001' // the cached value is a number; nothing behind it: a blank
	faultMark  = '\uE002' // the cached value is an error
	arrayMark  = '\uE003' // in front of a formula over whole columns
)

// partTime is the time of every part: a workbook's bytes follow from the
// sheet alone.
var partTime = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// partDate is partTime as a zip file tells it.
const partDate = 20<<9 | 1<<5 | 1

// packer collects a workbook's parts, corrects them, and writes them in the
// order of their names.
type packer struct {
	w     io.Writer
	name  string
	body  bytes.Buffer
	parts []part
	stamp formulaStamp
	// custom are the custom properties, which wait for the stamp.
	custom []byte
}

// part is one part, deflated.
type part struct {
	header zip.FileHeader
	data   []byte
}

func newPacker(w io.Writer) excelize.ZipWriter { return &packer{w: w} }

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

// finish corrects the current part and deflates it.
func (p *packer) finish() error {
	if p.name == "" {
		return nil
	}
	if p.name == customPart && p.custom == nil {
		p.custom = bytes.Clone(p.body.Bytes())
		p.name = ""
		p.body.Reset()
		return nil
	}
	data := p.repair(p.name, p.body.Bytes())
	var out bytes.Buffer
	z, err := flate.NewWriter(&out, flate.DefaultCompression)
	if err != nil {
		return err
	}
	if _, err := z.Write(data); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	p.parts = append(p.parts, part{
		header: zip.FileHeader{
			Name: p.name, Method: zip.Deflate, CRC32: crc32.ChecksumIEEE(data),
			CompressedSize64: uint64(out.Len()), UncompressedSize64: uint64(len(data)),
		},
		data: out.Bytes(),
	})
	//lint:ignore SA1019 a part that comes deflated has its time written as these fields say
	p.parts[len(p.parts)-1].header.ModifiedDate = partDate
	p.name = ""
	p.body.Reset()
	return nil
}

// Close writes the parts. The list of content types comes first, as readers
// that look at the head of a file expect.
func (p *packer) Close() error {
	if err := p.finish(); err != nil {
		return err
	}
	if p.custom != nil {
		p.name = customPart
		p.body.Write(bytes.Replace(p.custom, []byte(stampMark), []byte(p.stamp.String()), 1))
		if err := p.finish(); err != nil {
			return err
		}
	}
	slices.SortFunc(p.parts, func(a, b part) int {
		if first, second := a.header.Name == contentTypes, b.header.Name == contentTypes; first != second {
			if first {
				return -1
			}
			return 1
		}
		return strings.Compare(a.header.Name, b.header.Name)
	})
	z := zip.NewWriter(p.w)
	for i := range p.parts {
		out, err := z.CreateRaw(&p.parts[i].header)
		if err != nil {
			return err
		}
		if _, err := out.Write(p.parts[i].data); err != nil {
			return err
		}
	}
	return z.Close()
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

// chartParts makes the x values of a chart numbers, where they would be stored as
// texts and counted 1, 2, 3; and takes away a second, level direction of each
// title, which readers prefer to the first, and empty caches.
var chartParts = replacer{strings.NewReplacer(
	"<xVal><strRef>", "<xVal><numRef>", "</strRef></xVal>", "</numRef></xVal>",
	"<numCache><formatCode></formatCode></numCache>", "",
	`<spPr></spPr><txPr><a:bodyPr anchorCtr="false" rot="0" spcFirstLastPara="false"></a:bodyPr><a:p></a:p></txPr></title>`, "</title>",
)}

type replacer struct{ *strings.Replacer }

func (r replacer) Replace(data []byte) []byte { return []byte(r.Replacer.Replace(string(data))) }

// repair corrects one part.
func (p *packer) repair(name string, data []byte) []byte {
	switch {
	case name == contentTypes:
		return sortDefaults(data)
	case name == "docProps/core.xml":
		return coreNames.Replace(data)
	case strings.HasPrefix(name, "xl/charts/"):
		data = chartParts.Replace(data)
		return valueAxis.ReplaceAllFunc(data, func(axis []byte) []byte { return categoryOnly.ReplaceAll(axis, nil) })
	case strings.HasPrefix(name, "xl/worksheets/sheet"):
		return p.repairCells(name, data)
	}
	return data
}

// sortDefaults brings the content types of extensions, which come in any
// order, into one.
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

var (
	textKind     = []byte(` t="str"`)
	textFormula  = []byte(` t="str"><f>`)
	errorFormula = []byte(` t="e"><f>`)
	bareFormula  = []byte(`><f>`)
)

// repairCells gives every formula the cached value of its mark.
func (p *packer) repairCells(part string, data []byte) []byte {
	out := make([]byte, 0, len(data)+len(data)/16)
	for {
		i := bytes.Index(data, bareFormula)
		if i < 0 {
			return append(out, data...)
		}
		end := bytes.Index(data[i:], []byte("</c>"))
		if end < 0 {
			return append(out, data...)
		}
		start := bytes.LastIndex(data[:i], []byte("<c "))
		body := data[i+len(bareFormula) : i+end]
		if head, marked := bytes.CutSuffix(data[:i], textKind); marked {
			out = append(out, head...)
			out = p.appendFormula(out, part, head[start:], body)
		} else {
			// A truth, cached as it should be.
			text, _, _ := bytes.Cut(body, []byte("</f>"))
			p.stamp.addCell(part, data[start:i], text)
			out = append(out, data[:i+end]...)
		}
		data = data[i+end:]
	}
}

// appendFormula writes the rest of a cell: head is its tag so far, body the
// formula and what follows.
func (p *packer) appendFormula(out []byte, part string, head, body []byte) []byte {
	text, cached, _ := bytes.Cut(body, []byte("</f>"))
	value := bytes.TrimSuffix(bytes.TrimPrefix(cached, []byte("<v>")), []byte("</v>"))
	open := textFormula
	switch number, fault := cutMark(value, numberMark), cutMark(value, faultMark); {
	case len(number) > 0:
		open, value = bareFormula, number
	case number != nil:
		value = number
	case fault != nil:
		open, value = errorFormula, fault
	case len(value) == 0:
		open, value = bareFormula, nil // nothing cached: to be computed
	}
	if array := cutMark(text, arrayMark); array != nil {
		text = array
		open = append(bytes.TrimSuffix(slices.Clone(open), []byte("<f>")), `<f t="array" ref="`+reference(head)+`">`...)
	}
	p.stamp.addCell(part, head, text)
	out = append(append(out, open...), text...)
	out = append(out, "</f>"...)
	if value != nil {
		out = append(append(append(out, "<v>"...), value...), "</v>"...)
	}
	return out
}

// cutMark returns what follows a mark; nil where there is none.
func cutMark(b []byte, mark rune) []byte {
	if !bytes.HasPrefix(b, []byte(string(mark))) {
		return nil
	}
	return b[len(string(mark)):]
}

// reference returns the place that a cell's tag names.
func reference(head []byte) string {
	_, rest, _ := bytes.Cut(head, []byte(` r="`))
	ref, _, _ := bytes.Cut(rest, []byte(`"`))
	return string(ref)
}
