// Package parquet writes a table as an Apache Parquet file: numbers, texts and
// logical values, streamed in row groups. It knows no sheet.
//
// The structures of the format and their coding are those of the maintained
// library, parquet-go. Pages and row groups are written here, because the
// library's own writer handles any Go type and adds 7 MB to the program; this
// package adds 0.5 MB.
package parquet

import (
	"encoding/binary"
	"errors"
	"io"
	"math"
	"runtime"
	"sync"

	"github.com/parquet-go/parquet-go/deprecated"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
)

// Form is the form of a column's values.
type Form uint8

// The forms. A null is NaN among numbers and logical values, and empty among
// texts.
const (
	Number Form = iota // DOUBLE
	Text               // BYTE_ARRAY, UTF-8
	Truth              // BOOLEAN, from 1 and 0
)

// types are the physical types of the forms.
var types = [...]format.Type{Number: format.Double, Text: format.ByteArray, Truth: format.Boolean}

// Pair is an entry of the metadata of a file or a column.
type Pair struct{ Key, Value string }

// Column is one column of a table. No two have the same name.
type Column struct {
	Name  string
	Form  Form
	About []Pair
}

// Values are successive values of one column: Texts of a text, otherwise
// Numbers.
type Values struct {
	Numbers []float64
	Texts   []string
}

// Table describes a file.
type Table struct {
	By      string // the program that writes it, "name version 1.2"
	About   []Pair
	Columns []Column
}

// The bounds of a row group, which is held in memory: rows, values of all
// columns, and bytes of texts. The number of groups is a 16-bit integer.
const (
	mostRows   = 1 << 16
	mostValues = 1 << 20
	mostText   = 16 << 20
	mostGroups = math.MaxInt16
)

// magic begins and ends a file.
const magic = "PAR1"

// ErrTooLong says that a file has no room for more rows.
var ErrTooLong = errors.New("one Parquet file does not hold that many rows: write it in parts")

// Writer writes the rows of a table. The output depends on the rows alone, not
// on how they are divided among calls.
type Writer struct {
	out    io.Writer
	table  Table
	at     int64 // bytes written
	open   []Values
	rows   int // of the open row group
	most   int // rows of a row group
	text   int // bytes of texts in the open row group
	footer format.FileMetaData
	err    error // the first error, after which nothing is written
}

// NewWriter begins a file.
func NewWriter(out io.Writer, t Table) *Writer {
	w := &Writer{out: out, table: t, open: make([]Values, len(t.Columns))}
	w.most = max(1, min(mostRows, mostValues/max(1, len(t.Columns))))
	w.footer = format.FileMetaData{Version: 1, CreatedBy: t.By, KeyValueMetadata: pairs(t.About), Schema: schema(t.Columns)}
	for range t.Columns {
		w.footer.ColumnOrders = append(w.footer.ColumnOrders, format.ColumnOrder{Value: &format.TypeDefinedOrder{}})
	}
	w.write([]byte(magic))
	return w
}

// schema lists the root and its leaves, all of them optional.
func schema(columns []Column) []format.SchemaElement {
	out := []format.SchemaElement{{Name: "schema", NumChildren: thrift.New(int32(len(columns)))}}
	for _, c := range columns {
		leaf := format.SchemaElement{Name: c.Name, Type: thrift.New(types[c.Form]), RepetitionType: thrift.New(format.Optional)}
		if c.Form == Text {
			leaf.ConvertedType = thrift.New(deprecated.UTF8)
			leaf.LogicalType = format.LogicalType{Value: &format.StringType{}}
		}
		out = append(out, leaf)
	}
	return out
}

func pairs(list []Pair) []format.KeyValue {
	var out []format.KeyValue
	for _, p := range list {
		out = append(out, format.KeyValue(p))
	}
	return out
}

// write counts the bytes that go out.
func (w *Writer) write(data []byte) {
	if w.err == nil {
		_, w.err = w.out.Write(data)
		w.at += int64(len(data))
	}
}

// Write adds n rows: the values of each column, which are copied.
func (w *Writer) Write(n int, columns []Values) error {
	for from := 0; from < n && w.err == nil; {
		to := w.reach(columns, from, n)
		for i, c := range w.table.Columns {
			if c.Form == Text {
				w.open[i].Texts = append(w.open[i].Texts, columns[i].Texts[from:to]...)
			} else {
				w.open[i].Numbers = append(w.open[i].Numbers, columns[i].Numbers[from:to]...)
			}
		}
		w.rows += to - from
		from = to
		if w.rows == w.most || w.text >= mostText {
			w.group()
		}
	}
	return w.err
}

// reach returns the end of the rows that the open row group has room for.
func (w *Writer) reach(columns []Values, from, n int) int {
	to := min(n, from+w.most-w.rows)
	for row := from; row < to; row++ {
		for i, c := range w.table.Columns {
			if c.Form == Text {
				w.text += len(columns[i].Texts[row])
			}
		}
		if w.text >= mostText {
			return row + 1
		}
	}
	return to
}

// group writes the open row group, its columns encoded on all cores.
func (w *Writer) group() {
	if w.rows == 0 || w.err != nil {
		return
	}
	if len(w.footer.RowGroups) == mostGroups {
		w.err = ErrTooLong
		return
	}
	group := format.RowGroup{NumRows: int64(w.rows), FileOffset: w.at, Ordinal: int16(len(w.footer.RowGroups))}
	for _, c := range w.encode() {
		if w.err = errors.Join(w.err, c.err); w.err != nil {
			return
		}
		group.Columns = append(group.Columns, format.ColumnChunk{MetaData: c.placed(w.at)})
		group.TotalByteSize += c.meta.TotalUncompressedSize
		group.TotalCompressedSize += c.meta.TotalCompressedSize
		w.write(c.data)
	}
	w.footer.RowGroups = append(w.footer.RowGroups, group)
	w.footer.NumRows += int64(w.rows)
	for i := range w.open {
		clear(w.open[i].Texts)
		w.open[i] = Values{w.open[i].Numbers[:0], w.open[i].Texts[:0]}
	}
	w.rows, w.text = 0, 0
}

// encode returns the open row group's columns in the form of the file.
func (w *Writer) encode() []*chunk {
	chunks := make([]*chunk, len(w.open))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, c := range w.table.Columns {
		slots <- struct{}{}
		wait.Go(func() {
			chunks[i] = encode(c, w.open[i])
			<-slots
		})
	}
	wait.Wait()
	return chunks
}

// Close ends the file; the underlying writer stays open.
func (w *Writer) Close() error {
	w.group()
	if w.err != nil {
		return w.err
	}
	footer, err := thrift.Marshal(new(thrift.CompactProtocol), &w.footer)
	if err != nil {
		return err
	}
	w.write(footer)
	w.write(binary.LittleEndian.AppendUint32(nil, uint32(len(footer))))
	w.write([]byte(magic))
	return w.err
}
