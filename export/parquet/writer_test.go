package parquet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/format"
	"pgregory.net/rapid"
)

// rows are a table's values by column, as they are expected in a file.
type rows struct {
	table  Table
	n      int
	values []Values
}

// randomRows draws a table: numbers that repeat, that do not, and at the ends
// of the range; texts; logical values; nulls in all of them.
func randomRows(t *rapid.T) rows {
	r := rows{n: rapid.IntRange(0, 700).Draw(t, "rows"), table: Table{By: "test version 1", About: []Pair{{"k", "v"}}}}
	number := rapid.OneOf(rapid.SampledFrom([]float64{0, 1, -2.5, math.NaN(), math.MaxFloat64, math.SmallestNonzeroFloat64}), rapid.Float64())
	text := rapid.OneOf(rapid.SampledFrom([]string{"", "kept", "broken: a <= b", "ä \u2028 \"q\"\r\n"}), rapid.String())
	for i := range rapid.IntRange(1, 5).Draw(t, "columns") {
		c := Column{Name: fmt.Sprintf("c.%d [x]", i), Form: Form(rapid.IntRange(0, 2).Draw(t, "form")), About: []Pair{{"unit", "mm"}}}
		few := rapid.Bool().Draw(t, "few") // long runs of equal values
		var v Values
		var last float64
		var lastText string
		for row := range r.n {
			fresh := !few || row%37 == 0
			switch c.Form {
			case Number:
				if fresh {
					last = number.Draw(t, "number")
				}
				v.Numbers = append(v.Numbers, last)
			case Truth:
				if fresh {
					last = rapid.SampledFrom([]float64{0, 1, math.NaN()}).Draw(t, "truth")
				}
				v.Numbers = append(v.Numbers, last)
			case Text:
				if fresh {
					lastText = text.Draw(t, "text")
				}
				v.Texts = append(v.Texts, lastText)
			}
		}
		r.table.Columns, r.values = append(r.table.Columns, c), append(r.values, v)
	}
	return r
}

// write writes r, so many rows at a time, into groups of at most most rows.
func (r rows) write(t rapid.TB, most, step int) []byte {
	t.Helper()
	var out bytes.Buffer
	w := NewWriter(&out, r.table)
	w.most = min(w.most, most)
	for from := 0; from < r.n; from += step {
		to := min(r.n, from+step)
		part := make([]Values, len(r.values))
		for i, v := range r.values {
			if r.table.Columns[i].Form == Text {
				part[i].Texts = v.Texts[from:to]
			} else {
				part[i].Numbers = v.Numbers[from:to]
			}
		}
		if err := w.Write(to-from, part); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// compare reads a file by the kept library and finds what was written.
func (r rows) compare(t rapid.TB, file []byte) *parquet.File {
	t.Helper()
	f, err := parquet.OpenFile(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	if f.NumRows() != int64(r.n) {
		t.Fatalf("%d rows, want %d", f.NumRows(), r.n)
	}
	for i, c := range r.table.Columns {
		row, nulls := 0, int64(0)
		for g, group := range f.RowGroups() {
			pages := group.ColumnChunks()[i].Pages()
			for {
				p, err := pages.ReadPage()
				if errors.Is(err, io.EOF) {
					break
				}
				if err != nil {
					t.Fatalf("%s: %v", c.Name, err)
				}
				values := make([]parquet.Value, p.NumValues())
				if n, err := p.Values().ReadValues(values); n != len(values) {
					t.Fatalf("%d values of %d: %v", n, len(values), err)
				}
				for _, v := range values {
					if text := r.differs(i, row, v); text != "" {
						t.Fatalf("row %d of %s %s", row, c.Name, text)
					}
					if v.IsNull() {
						nulls++
					}
					row++
				}
			}
			_ = pages.Close()
			stats := f.Metadata().RowGroups[g].Columns[i].MetaData.Statistics
			nulls -= stats.NullCount
		}
		if row != r.n || nulls != 0 {
			t.Fatalf("%s: %d rows of %d, %d nulls not counted", c.Name, row, r.n, nulls)
		}
	}
	return f
}

// differs describes how a value that was read differs.
func (r rows) differs(i, row int, got parquet.Value) string {
	switch r.table.Columns[i].Form {
	case Text:
		want := r.values[i].Texts[row]
		if got.IsNull() != (want == "") || !got.IsNull() && string(got.ByteArray()) != strings.ToValidUTF8(want, "\uFFFD") {
			return fmt.Sprintf("is %v, want %q", got, want)
		}
	case Truth:
		want := r.values[i].Numbers[row]
		if got.IsNull() != (want != want) || !got.IsNull() && got.Boolean() != (want == 1) {
			return fmt.Sprintf("is %v, want %v", got, want)
		}
	default:
		want := r.values[i].Numbers[row]
		if got.IsNull() != (want != want) || !got.IsNull() && math.Float64bits(got.Double()) != math.Float64bits(want+0) {
			return fmt.Sprintf("is %v, want %v", got, want)
		}
	}
	return ""
}

// TestRandomTables: any table is read as it was written, in groups of any
// length, and the bytes do not depend on how many rows come at a time.
func TestRandomTables(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := randomRows(t)
		most := rapid.IntRange(1, 800).Draw(t, "most")
		file := r.write(t, max(most, r.n/50), rapid.IntRange(1, 900).Draw(t, "step"))
		r.compare(t, file)
		if again := r.write(t, max(most, r.n/50), 1+r.n); !bytes.Equal(file, again) {
			t.Fatal("the bytes depend on how many rows come at a time")
		}
	})
}

// FuzzHybrid: what was packed is unpacked, by a decoder written from the
// format's description (parquet-format, Encodings.md, RLE = 3).
func FuzzHybrid(f *testing.F) {
	f.Add([]byte{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2, 3, 4, 5, 6, 7, 8, 9}, uint8(4))
	f.Add(bytes.Repeat([]byte{0, 1}, 40), uint8(1))
	f.Add(bytes.Repeat([]byte{9}, 300), uint8(13))
	f.Fuzz(func(t *testing.T, data []byte, w uint8) {
		width := 1 + int(w)%20
		values := make([]uint32, len(data))
		for i, b := range data {
			values[i] = uint32(b) * 2579 & (1<<width - 1)
		}
		got := unpack(appendHybrid(nil, values, width), len(values), width)
		for i, v := range values {
			if got[i] != v {
				t.Fatalf("value %d of width %d is %d, want %d", i, width, got[i], v)
			}
		}
	})
}

func unpack(data []byte, n, width int) []uint32 {
	var out []uint32
	for len(out) < n {
		head, shift := uint64(0), 0
		for {
			b := data[0]
			data = data[1:]
			head |= uint64(b&0x7F) << shift
			shift += 7
			if b < 0x80 {
				break
			}
		}
		if head&1 == 0 {
			v := uint32(0)
			for k := range (width + 7) / 8 {
				v |= uint32(data[k]) << (8 * k)
			}
			data = data[(width+7)/8:]
			for range head >> 1 {
				out = append(out, v)
			}
			continue
		}
		for i := range 8 * int(head>>1) {
			v := uint32(0)
			for bit := range width {
				at := i*width + bit
				v |= uint32(data[at/8]>>(at%8)&1) << bit
			}
			out = append(out, v)
		}
		data = data[int(head>>1)*width:]
	}
	return out
}

// TestMetadata: the columns have their metadata, the file its own, and bounds
// are those of the values; a zero has the sign that the format asks for.
func TestMetadata(t *testing.T) {
	r := rows{n: 4, table: Table{By: "gearleaf version 1.1", About: []Pair{{"sheet", "bike.leaf"}}, Columns: []Column{
		{Name: "speed", About: []Pair{{"unit", "mph"}, {"kind", "plain"}}}, {Name: "fuel", Form: Text}, {Name: "wet", Form: Truth},
	}}, values: []Values{
		{Numbers: []float64{1.5, math.NaN(), 0, 3}}, {Texts: []string{"b", "a", "", "b"}}, {Numbers: []float64{1, 1, math.NaN(), 1}},
	}}
	f := r.compare(t, r.write(t, 100, 1))
	m := f.Metadata()
	if m.CreatedBy != "gearleaf version 1.1" || m.KeyValueMetadata[0].Value != "bike.leaf" {
		t.Errorf("%+v", m)
	}
	columns := m.RowGroups[0].Columns
	if kv := columns[0].MetaData.KeyValueMetadata; len(kv) != 2 || kv[0].Key != "unit" || kv[0].Value != "mph" {
		t.Errorf("%+v", kv)
	}
	for i, want := range [][2]string{{"0000000000000080", "0000000000000840"}, {"61", "62"}, {"01", "01"}} {
		s := columns[i].MetaData.Statistics
		if got := [2]string{fmt.Sprintf("%x", s.MinValue), fmt.Sprintf("%x", s.MaxValue)}; got != want || s.NullCount != 1 {
			t.Errorf("column %d: %v, %d nulls", i, got, s.NullCount)
		}
	}
}

// TestGolden holds the bytes of a small file: they change on purpose alone.
// GEARLEAF_UPDATE=1 writes them.
func TestGolden(t *testing.T) {
	r := rows{n: 40, table: Table{By: "gearleaf version 1.1", About: []Pair{{"sheet", "bike.leaf"}}, Columns: []Column{
		{Name: "speed", About: []Pair{{"unit", "mph"}}}, {Name: "fuel", Form: Text}, {Name: "wet", Form: Truth},
	}}, values: make([]Values, 3)}
	for i := range r.n {
		r.values[0].Numbers = append(r.values[0].Numbers, 100+math.Sqrt(float64(i)))
		r.values[1].Texts = append(r.values[1].Texts, []string{"alcohol", "gasoline"}[i/25])
		r.values[2].Numbers = append(r.values[2].Numbers, float64(i%2))
	}
	file := filepath.Join("testdata", "small.parquet")
	got := r.write(t, 100, 7)
	if os.Getenv("GEARLEAF_UPDATE") != "" {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	r.compare(t, want)
	if !bytes.Equal(got, want) {
		t.Error("the bytes of a file have changed; GEARLEAF_UPDATE=1 writes them")
	}
}

// TestGroups: rows and texts bound a group; a file ends where groups can no
// longer be counted; the error of the file that it writes to is returned.
func TestGroups(t *testing.T) {
	w := NewWriter(io.Discard, Table{Columns: []Column{{Name: "text", Form: Text}}})
	long := strings.Repeat("x", 1<<20)
	for range 33 {
		if err := w.Write(1, []Values{{Texts: []string{long}}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil || len(w.footer.RowGroups) != 3 {
		t.Errorf("%d groups of 33 MB of text, %v", len(w.footer.RowGroups), err)
	}
	w = NewWriter(io.Discard, Table{Columns: []Column{{Name: "x"}}})
	w.footer.RowGroups = make([]format.RowGroup, mostGroups)
	if err := w.Write(1, []Values{{Numbers: []float64{1}}}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); !errors.Is(err, ErrTooLong) {
		t.Errorf("%v", err)
	}
	w = NewWriter(full{}, Table{Columns: []Column{{Name: "x"}}})
	if err := w.Close(); err == nil || err.Error() != "no space" {
		t.Errorf("%v", err)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space") }
