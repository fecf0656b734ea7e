package export

import (
	"bytes"
	"context"
	"testing"

	"github.com/xuri/excelize/v2"

	"gearleaf/sheet"
	"gearleaf/sheet/question"
)

const swept = "x : 1\ny : 2\nfuel : \"a\" choice \"a\", \"=b, c\"\nz = sqrt(x) / y\nlimit x + y <= 4 \"too much\"\n"

func sweepOf(t testing.TB, workers int) *question.Sweep {
	t.Helper()
	s, list := sheet.FromText("x.leaf", swept)
	if s == nil {
		t.Fatal(list)
	}
	var axes []question.Axis
	for _, text := range []string{"x=-1..2 by 0.01", "y=0..3 by 0.5", "fuel"} {
		a, d := question.ParseAxis(s, text, false)
		if d != nil {
			t.Fatal(d.Message)
		}
		axes = append(axes, a)
	}
	show, d := question.ParseShow(s, []string{"z", "fuel"})
	if d != nil {
		t.Fatal(d.Message)
	}
	w, d := question.NewSweep(s, axes, show)
	if d != nil {
		t.Fatal(d.Message)
	}
	w.Workers = workers
	return w
}

func sweepBytes(t testing.TB, kind string, w *question.Sweep) []byte {
	t.Helper()
	var out bytes.Buffer
	tally, err := WriteSweep(context.Background(), &out, kind, w, Origin{}, func(int) {})
	from, to := w.Part()
	if err != nil || tally.Scenarios != to-from {
		t.Fatalf("%s: %d scenarios of %d, %v", kind, tally.Scenarios, to-from, err)
	}
	return out.Bytes()
}

// TestSweepFiles writes a sweep with other numbers of workers: the bytes are
// the same, and those of the parts, concatenated, too.
func TestSweepFiles(t *testing.T) {
	for _, kind := range []string{".csv", ".json", ".xlsx", ".parquet"} {
		want := sweepBytes(t, kind, sweepOf(t, 1))
		for _, workers := range []int{2, 5} {
			if got := sweepBytes(t, kind, sweepOf(t, workers)); !bytes.Equal(got, want) {
				t.Errorf("%s: %d workers write something else", kind, workers)
			}
		}
	}
	if csv, small := len(sweepBytes(t, ".csv", sweepOf(t, 1))), len(sweepBytes(t, ".parquet", sweepOf(t, 1))); small > csv/10 {
		t.Errorf("a sweep of combinations takes %d bytes, more than a tenth of the %d of CSV", small, csv)
	}
	var parts []byte
	for i := range 7 {
		w := sweepOf(t, 2)
		w.Shard, w.Shards = i, 7
		parts = append(parts, sweepBytes(t, ".csv", w)...)
	}
	if !bytes.Equal(parts, sweepBytes(t, ".csv", sweepOf(t, 1))) {
		t.Error("the parts are not the whole")
	}
}

// TestSweepBook reads the workbook of a sweep again.
func TestSweepBook(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(sweepBytes(t, ".xlsx", sweepOf(t, 2))))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := f.GetRows("Sweep")
	if err != nil || len(rows) != bookHeads+301*7*2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for at, want := range map[string]string{
		"A2": "Sweep of x, y, fuel: 4214 scenarios. Printed: the first 130 rows.",
		"A4": "x", "D4": "z", "F4": "limits", "G4": "why",
		"A6": "-1", "C7": "=b, c", "D6": "", "G6": "z: the square root of a negative number",
		"D4219": "0.47140452079103", "F4219": "broken", "G4219": "x + y <= 4",
	} {
		if got, _ := f.GetCellValue("Sweep", at, excelize.Options{RawCellValue: true}); got != want && !(at == "D4219" && got[:14] == want[:14]) {
			t.Errorf("%s holds %q, want %q", at, got, want)
		}
	}
	if kind, _ := f.GetCellFormula("Sweep", "C7"); kind != "" {
		t.Errorf("a text became the formula %q", kind)
	}
}

func TestRecordsAreHarmless(t *testing.T) {
	r := Records{Fields: []Field{{Name: "a", Unit: "mm"}, {Name: "=b"}}, Rows: [][]any{{1.5, "=1+1"}, {nil, `a "quote", and more`}, {true, 3}}}
	var out bytes.Buffer
	if err := WriteRecords(&out, ".csv", r, Origin{}); err != nil {
		t.Fatal(err)
	}
	const want = "a mm,'=b\r\n1.5,'=1+1\r\n,\"a \"\"quote\"\", and more\"\r\nyes,3\r\n"
	if out.String() != want {
		t.Errorf("%q, want %q", out.String(), want)
	}
}

// BenchmarkSweep writes the same scenarios as text and for data tools.
func BenchmarkSweep(b *testing.B) {
	for _, ending := range []string{".csv", ".parquet"} {
		b.Run(ending, func(b *testing.B) {
			n := 0
			for b.Loop() {
				sweepBytes(b, ending, sweepOf(b, 1))
				n += 301 * 7 * 2
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "scenarios/s")
		})
	}
}

// TestSweepBookRounds writes what calc shows to a coarse step: no number format
// rounds to tens.
func TestSweepBookRounds(t *testing.T) {
	s, list := sheet.FromText("x.leaf", "n : 1\nspeed = n * 11231 rpm as rpm to 10\npart = n * 1.26 to 0.25\n")
	if s == nil {
		t.Fatal(list)
	}
	axis, d := question.ParseAxis(s, "n=1,2", false)
	if d != nil {
		t.Fatal(d.Message)
	}
	show, d := question.ParseShow(s, []string{"speed", "part"})
	if d != nil {
		t.Fatal(d.Message)
	}
	w, d := question.NewSweep(s, []question.Axis{axis}, show)
	if d != nil {
		t.Fatal(d.Message)
	}
	f, err := excelize.OpenReader(bytes.NewReader(sweepBytes(t, ".xlsx", w)))
	if err != nil {
		t.Fatal(err)
	}
	for place, want := range map[string]string{
		at(2, bookHeads+1): "11230", at(3, bookHeads+1): "1.25",
		at(2, bookHeads+2): "22460", at(3, bookHeads+2): "2.5",
	} {
		if got, err := f.GetCellValue("Sweep", place, excelize.Options{RawCellValue: true}); got != want {
			t.Errorf("%s holds %q, not %s (%v)", place, got, want, err)
		}
	}
}
