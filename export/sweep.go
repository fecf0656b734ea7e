package export

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"gearleaf/sheet"
	"gearleaf/sheet/check"
	"gearleaf/sheet/question"
)

// scenarioWriter writes scenarios of a sheet: inputs, and values that are
// shown.
type scenarioWriter struct {
	sheet  *sheet.Sheet
	inputs []*check.Quantity
	shown  []*check.Quantity
	heads  []Field        // of the inputs, then of what is shown
	limits map[int]string // conditions, by the limit's index; nil if none is watched
}

// input adds an input.
func (s *scenarioWriter) input(name string, q *check.Quantity) {
	s.inputs, s.heads = append(s.inputs, q), append(s.heads, FieldOf(name, q))
}

// showing adds what is shown.
func (s *scenarioWriter) showing(places []sheet.Place) {
	for _, p := range places {
		s.shown, s.heads = append(s.shown, p.Quantity()), append(s.heads, FieldOf(p.Name(), p.Quantity()))
	}
}

// sweepWriter writes a sweep as its scenarios come.
type sweepWriter struct {
	scenarioWriter
	w *question.Sweep
}

// WriteSweep computes w and writes it as kind, one of AnswerKinds; o is
// additional metadata for Parquet. progress is called with the number of
// scenarios written so far. A sweep in shards is CSV, with the line of names
// only in the first part, so the concatenated parts equal the whole file byte
// for byte; or Parquet, whose parts are separate files that readers take
// together.
func WriteSweep(ctx context.Context, out io.Writer, kind string, w *question.Sweep, o Origin, progress func(done int)) (question.Tally, error) {
	s := &sweepWriter{scenarioWriter{sheet: w.Sheet}, w}
	for _, a := range w.Axes {
		s.input(a.Name(), a.Quantity())
	}
	s.showing(w.Show)
	for _, l := range w.Watched {
		if s.limits == nil {
			s.limits = map[int]string{}
		}
		s.limits[l.Index] = l.Text
	}
	from, to := w.Part()
	switch {
	case w.Shards > 1 && kind != ".csv" && kind != ".parquet":
		return question.Tally{}, fmt.Errorf("a shard is written as .csv or .parquet: the parts of a %s file would not make the whole", kind)
	case kind == ".xlsx" && to-from > MaxBookRows:
		return question.Tally{}, fmt.Errorf("a workbook holds %d scenarios, not %d: write .csv or .parquet", MaxBookRows, to-from)
	case kind == ".xlsx":
		return s.book(ctx, out, progress)
	case kind == ".json":
		return s.json(ctx, out, progress)
	case kind == ".parquet":
		return s.parquet(ctx, out, o, progress)
	}
	return s.csv(ctx, out, progress)
}

// fields are the columns: inputs, shown values, then the state of the limits
// and why a value is missing.
func (s *scenarioWriter) fields() []Field {
	fields := slices.Clone(s.heads)
	if s.limits != nil {
		fields = append(fields, Field{Name: "limits"})
	}
	return append(fields, Field{Name: "fault"})
}

// blocks runs the sweep: work renders its blocks on many workers, write takes them
// in order.
func blocks[T any](ctx context.Context, w *question.Sweep, work func(*question.Block, *T), write func(*question.Block, *T) error, progress func(int)) (question.Tally, error) {
	done := 0
	return question.RunSweep(ctx, w, work, func(b *question.Block, rendered *T) error {
		if err := write(b, rendered); err != nil {
			return err
		}
		done += b.N
		progress(done)
		return nil
	})
}

// lines writes the sweep as text.
func (s *sweepWriter) lines(ctx context.Context, out io.Writer, render func(b *question.Block, text []byte) []byte, progress func(int)) (question.Tally, error) {
	return blocks(ctx, s.w, func(b *question.Block, text *[]byte) {
		*text = render(b, (*text)[:0])
	}, func(_ *question.Block, text *[]byte) error {
		_, err := out.Write(*text)
		return err
	}, progress)
}

func (s *sweepWriter) csv(ctx context.Context, w io.Writer, progress func(int)) (question.Tally, error) {
	out := bufio.NewWriterSize(w, 1<<16)
	if s.w.Shard == 0 {
		_, _ = out.Write(appendHead(nil, s.fields(), SetText(s.sheet)))
	}
	tally, err := s.lines(ctx, out, s.csvBlock, progress)
	if err != nil {
		return tally, err
	}
	return tally, out.Flush()
}

func (s *scenarioWriter) csvBlock(b *question.Block, text []byte) []byte {
	set := SetText(s.sheet)
	for i := range b.N {
		for k, q := range s.inputs {
			if k > 0 {
				text = append(text, ',')
			}
			text = s.field(text, q, b.Inputs[k][i])
		}
		for k, q := range s.shown {
			text = s.field(append(text, ','), q, b.Shown[k][i])
		}
		if s.limits != nil {
			text = append(append(text, ','), quoted(harmless(s.standing(b, i)))...)
		}
		text = append(append(text, ','), quoted(harmless(b.Hole[i]))...)
		text = appendEnd(text, set)
	}
	return text
}

// field writes one value; a fault leaves its field empty, as a blank does.
func (s *scenarioWriter) field(text []byte, q *check.Quantity, v float64) []byte {
	switch {
	case v != v:
		return text
	case q.Type.Form == check.Number:
		return appendNumber(text, q.Unit.Number(v))
	}
	return appendPlain(text, plain(s.sheet, q, v))
}

// standing describes the state of the limits in one scenario.
func (s *scenarioWriter) standing(b *question.Block, i int) string {
	if len(b.Broken[i])+len(b.Waiting[i]) == 0 {
		return "kept"
	}
	var parts []string
	if len(b.Broken[i]) > 0 {
		parts = append(parts, "broken: "+s.conditions(b.Broken[i]))
	}
	if len(b.Waiting[i]) > 0 {
		parts = append(parts, "waiting: "+s.conditions(b.Waiting[i]))
	}
	return strings.Join(parts, "; ")
}

func (s *scenarioWriter) conditions(limits []int) string {
	var texts []string
	for _, i := range limits {
		texts = append(texts, s.limits[i])
	}
	return strings.Join(texts, "; ")
}

// The parts of a sweep's JSON around its scenarios.
type (
	sweepHead struct {
		documentHead
		Inputs []Field      `json:"inputs"`
		Shown  []Field      `json:"shown"`
		Limits []sweepLimit `json:"limits"`
	}
	sweepLimit struct {
		Condition string `json:"condition"`
		Message   string `json:"message,omitempty"`
	}
	sweepTail struct {
		Count    int         `json:"count"`
		Breaking int         `json:"breaking"`
		Broken   []int       `json:"broken"`
		Waiting  []int       `json:"waiting"`
		Faulty   int         `json:"faulty"`
		Holes    []HoleCount `json:"holes"`
	}
)

// HoleCount is one cause of missing values and its number.
type HoleCount struct {
	Cause string `json:"cause"`
	Count int    `json:"count"`
}

// HolesOf returns holes, the most frequent cause first.
func HolesOf(holes map[string]int) []HoleCount {
	out := []HoleCount{}
	for cause, n := range holes {
		out = append(out, HoleCount{cause, n})
	}
	slices.SortFunc(out, func(a, b HoleCount) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Cause, b.Cause))
	})
	return out
}

// json writes one scenario per line, so a long file can be read by lines.
func (s *sweepWriter) json(ctx context.Context, w io.Writer, progress func(int)) (question.Tally, error) {
	out := bufio.NewWriterSize(w, 1<<16)
	head := sweepHead{
		documentHead: headOf("sweep", s.sheet),
		Inputs:       s.heads[:len(s.inputs):len(s.inputs)], Shown: s.heads[len(s.inputs):], Limits: []sweepLimit{},
	}
	for _, l := range s.w.Watched {
		head.Limits = append(head.Limits, sweepLimit{l.Text, l.Message})
	}
	open, err := object(head)
	if err != nil {
		return question.Tally{}, err
	}
	fmt.Fprintf(out, "{%s,\"scenarios\":[", open)
	positions := map[int]int{}
	for k, l := range s.w.Watched {
		positions[l.Index] = k
	}
	tally, err := s.lines(ctx, out, func(b *question.Block, text []byte) []byte {
		return s.jsonBlock(b, positions, text)
	}, progress)
	if err != nil {
		return tally, err
	}
	shut, err := object(sweepTail{tally.Scenarios, tally.Breaking, tally.Broken, tally.Waiting, tally.Faulty, HolesOf(tally.Holes)})
	if err != nil {
		return tally, err
	}
	fmt.Fprintf(out, "\n],%s}\n", shut)
	return tally, out.Flush()
}

// object returns the members of v, without the brackets around them.
func object(v any) (string, error) {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return "", err
	}
	text := strings.TrimSpace(b.String())
	return text[1 : len(text)-1], nil
}

func (s *sweepWriter) jsonBlock(b *question.Block, positions map[int]int, text []byte) []byte {
	for i := range b.N {
		if b.From+i > 0 {
			text = append(text, ',')
		}
		text = append(text, "\n{\"inputs\":["...)
		for k, q := range s.inputs {
			text = s.jsonValue(text, k, q, b.Inputs[k][i])
		}
		text = append(text, "],\"shown\":["...)
		for k, q := range s.shown {
			text = s.jsonValue(text, k, q, b.Shown[k][i])
		}
		text = append(text, ']')
		text = jsonLimits(text, "broken", b.Broken[i], positions)
		text = jsonLimits(text, "waiting", b.Waiting[i], positions)
		if b.Hole[i] != "" {
			text = append(text, ",\"fault\":"...)
			text = appendJSON(text, b.Hole[i])
		}
		text = append(text, '}')
	}
	return text
}

func (s *sweepWriter) jsonValue(text []byte, k int, q *check.Quantity, v float64) []byte {
	if k > 0 {
		text = append(text, ',')
	}
	if v == v && q.Type.Form == check.Number {
		return appendNumber(text, q.Unit.Number(v))
	}
	return appendJSON(text, plain(s.sheet, q, v))
}

func appendJSON(text []byte, v any) []byte {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(v) // a text, a logical value or nil: none can fail
	return append(text, strings.TrimSuffix(b.String(), "\n")...)
}

// jsonLimits lists limits by their places in the head.
func jsonLimits(text []byte, name string, limits []int, positions map[int]int) []byte {
	if len(limits) == 0 {
		return text
	}
	text = append(append(append(text, ",\""...), name...), "\":["...)
	for n, i := range limits {
		if n > 0 {
			text = append(text, ',')
		}
		text = strconv.AppendInt(text, int64(positions[i]), 10)
	}
	return append(text, ']')
}
