package export

import (
	"bufio"
	"context"
	"io"
	"math"
	"strconv"

	"gearleaf/export/parquet"
	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/question"
)

// forms are the forms of all columns in a Parquet file.
func (s *scenarioWriter) forms() []parquet.Form {
	var out []parquet.Form
	for _, list := range [][]*check.Quantity{s.inputs, s.shown} {
		for _, q := range list {
			out = append(out, columnForm(q))
		}
	}
	for len(out) < len(s.fields()) {
		out = append(out, parquet.Text)
	}
	return out
}

// parquetBlock returns a block by columns; it reuses the memory of out.
func (s *scenarioWriter) parquetBlock(b *question.Block, out []parquet.Values) []parquet.Values {
	fields := len(s.inputs) + len(s.shown) + 2
	for len(out) < fields {
		out = append(out, parquet.Values{})
	}
	at := 0
	for k, q := range s.inputs {
		s.column(&out[at], q, b.Inputs[k][:b.N])
		at++
	}
	for k, q := range s.shown {
		s.column(&out[at], q, b.Shown[k][:b.N])
		at++
	}
	if s.limits != nil {
		out[at].Texts = out[at].Texts[:0]
		for i := range b.N {
			out[at].Texts = append(out[at].Texts, s.standing(b, i))
		}
		at++
	}
	out[at].Texts = append(out[at].Texts[:0], b.Hole[:b.N]...)
	return out
}

// column fills in the values of q.
func (s *scenarioWriter) column(to *parquet.Values, q *check.Quantity, values []float64) {
	to.Numbers, to.Texts = to.Numbers[:0], to.Texts[:0]
	for _, v := range values {
		switch {
		case q.Type.Form == check.Text && v == v:
			to.Texts = append(to.Texts, s.sheet.Model.Texts[int(v)])
		case q.Type.Form == check.Text:
			to.Texts = append(to.Texts, "")
		case v != v:
			to.Numbers = append(to.Numbers, math.NaN())
		case q.Type.Form == check.Number:
			to.Numbers = append(to.Numbers, q.Unit.Number(v))
		default:
			to.Numbers = append(to.Numbers, v)
		}
	}
}

// parquet writes the sweep's part as a Parquet file.
func (s *sweepWriter) parquet(ctx context.Context, out io.Writer, o Origin, progress func(int)) (question.Tally, error) {
	whole, _ := s.w.Size()
	from, _ := s.w.Part()
	o.More = append(o.More, [2]string{"scenarios", strconv.Itoa(whole)}, [2]string{"first", strconv.Itoa(from + 1)})
	buffered := bufio.NewWriterSize(out, 1<<16)
	w := parquet.NewWriter(buffered, tableOf(s.fields(), s.forms(), o))
	tally, err := blocks(ctx, s.w, func(b *question.Block, columns *[]parquet.Values) {
		*columns = s.parquetBlock(b, *columns)
	}, func(b *question.Block, columns *[]parquet.Values) error {
		return w.Write(b.N, *columns)
	}, progress)
	if err != nil {
		return tally, err
	}
	if err := w.Close(); err != nil {
		return tally, err
	}
	return tally, buffered.Flush()
}

// DrawKinds are the endings of files that draws can be written to.
var DrawKinds = []string{".csv", ".parquet"}

// DrawKind returns which of DrawKinds ends the name of a file.
func DrawKind(file string) (string, error) { return kindAmong(file, "draws", DrawKinds) }

// DrawWriter writes the draws of a spread: the drawn givens, the results, and
// why one is missing.
type DrawWriter struct {
	scenarioWriter
	out     *bufio.Writer
	kind    string
	origin  Origin
	show    []sheet.Place
	text    []byte
	file    *parquet.Writer
	columns []parquet.Values
}

// NewDrawWriter begins a file of kind, one of DrawKinds, for the draws of show;
// o is additional metadata for Parquet.
func NewDrawWriter(w io.Writer, kind string, show []sheet.Place, o Origin) *DrawWriter {
	return &DrawWriter{out: bufio.NewWriterSize(w, 1<<16), kind: kind, show: show, origin: o}
}

// Write adds some draws of a.
func (d *DrawWriter) Write(a *question.Spread, b *question.Block) error {
	if d.sheet == nil {
		d.begin(a)
	}
	if d.kind == ".csv" {
		d.text = d.csvBlock(b, d.text[:0])
		_, err := d.out.Write(d.text)
		return err
	}
	d.columns = d.parquetBlock(b, d.columns)
	return d.file.Write(b.N, d.columns)
}

// begin writes the lines above the draws.
func (d *DrawWriter) begin(a *question.Spread) {
	d.sheet = a.Sheet
	for _, src := range a.Sources {
		p := sheet.Place{Cell: src.Cell, Column: src.Column, Row: src.Row}
		d.input(p.Name(), p.Quantity())
	}
	d.showing(d.show)
	if d.kind == ".csv" {
		_, _ = d.out.Write(appendHead(nil, d.fields(), SetText(d.sheet)))
		return
	}
	d.origin.More = append(d.origin.More, [2]string{"draws", strconv.Itoa(a.Draws)}, [2]string{"seed", strconv.FormatUint(a.Seed, 10)})
	d.file = parquet.NewWriter(d.out, tableOf(d.fields(), d.forms(), d.origin))
}

// Close ends the file.
func (d *DrawWriter) Close() error {
	if d.file != nil {
		if err := d.file.Close(); err != nil {
			return err
		}
	}
	return d.out.Flush()
}
