package runlog

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"
)

var twoWants = []Want{{"time", "Time"}, {"speed", "Speed"}}

func readText(text string, wants []Want) (*Log, error) {
	return Read("run.csv", strings.NewReader(text), int64(len(text)), wants, nil)
}

// TestLayouts reads the same samples from every layout.
func TestLayouts(t *testing.T) {
	for name, text := range layouts {
		l, err := readText(text, twoWants)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := fmt.Sprint(l.Columns[0].Values, l.Columns[1].Values, l.Findings); got != "[0 0.01 0.02] [1.5 2.5 -3.25] []" {
			t.Errorf("%s: %s", name, got)
		}
		if at := strings.Index(text, "2.5"); at > 0 && l.Line(1) != 1+max(strings.Count(text[:at], "\n"), strings.Count(text[:at], "\r")) {
			t.Errorf("%s: the second row stands in line %d", name, l.Line(1))
		}
	}
}

// TestMistakes: the error of an unusable file has the reason and the place.
func TestMistakes(t *testing.T) {
	rows := func(line string, n int) string { return strings.Repeat(line, n) }
	for name, c := range map[string]struct {
		text string
		line int
		says string
	}{
		"empty":                    {"", 0, "is empty"},
		"blank":                    {" \n\n", 0, "is empty"},
		"head only":                {"Time,Speed\n", 1, "no rows of numbers"},
		"no columns":               {"hello\nworld\n", 1, "commas, semicolons or tabs"},
		"wrong delimiter":          {"Time|Speed\n0.1|2\n0.2|3\n", 1, "commas, semicolons or tabs"},
		"no text":                  {"PK\x03\x04\x00\x00", 0, "not text"},
		"no head":                  {"0.1,2\n0.2,3\n", 1, "no head"},
		"commas within commas":     {"Time,Speed\n" + rows("0,01,12,5\n", 5), 2, "decimal commas"},
		"missing":                  {"Time,Velocity\n0.1,2\n0.2,3\n", 1, `no column is headed "Speed"`},
		"near":                     {"Time,speed\n0.1,2\n0.2,3\n", 1, `did you mean "speed"?`},
		"missing, with its heads":  {"Time,Velocity\n0.1,2\n0.2,3\n", 1, "its headings are Time, Velocity"},
		"twice":                    {"Time,Speed,Speed\n0.1,2,3\n0.2,3,4\n", 1, "columns 2 and 3 are both headed"},
		"text all through":         {"Time,Speed,X\n0.1,fast,3\n0.2,slow,4\n0.3,fast,4\n", 2, `"fast" is in the column "Speed"`},
		"hardly a line that fits":  {"Time,Speed\n0.1,2\n" + rows("0.2,3,4,x,y\n", 3), 3, "the head above has 2 columns"},
		"time in words everywhere": {"Time,Speed,X\nnoon,1,3\nnoon,2,4\nnoon,3,4\n", 2, "no row can be used"},
	} {
		_, err := readText(c.text, twoWants)
		var m *Mistake
		if !errors.As(err, &m) || m.Line != c.line || !strings.Contains(m.Error(), c.says) {
			t.Errorf("%s: %v, want line %d and %q", name, err, c.line, c.says)
		}
	}
}

// TestOddRows: what is odd in a file that can be used is reported with its line.
func TestOddRows(t *testing.T) {
	good := func(from, n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "%.2f,%d\n", float64(from+i)/100, from+i)
		}
		return b.String()
	}
	for name, c := range map[string]struct {
		text       string
		line, rows int
		says       string
	}{
		"text":             {good(0, 5) + "0.05,fault\n" + good(6, 5), 7, 11, `"fault" in the column "Speed"`},
		"too few":          {good(0, 5) + "0.05\n" + good(6, 5), 7, 10, "not have as many fields"},
		"too many":         {good(0, 5) + "0.05,1,2,3\n" + good(6, 5), 7, 10, "not have as many fields"},
		"no time":          {good(0, 5) + ",7\n" + good(6, 5), 7, 10, "no time"},
		"does not advance": {good(0, 5) + "0.04,7\n" + good(6, 5), 7, 10, "does not advance"},
		"backwards":        {good(0, 5) + "0.01,7\n" + good(6, 5), 7, 10, "runs backwards, from 0.04 to 0.01"},
		"starts again":     {good(0, 9) + good(0, 9), 11, 18, "starts again"},
		"cut off":          {good(0, 5) + "0.05", 7, 5, "truncated"},
		"blank is none":    {good(0, 5) + "0.05,\n0.06,NaN\n0.07,-\n" + good(8, 5), 0, 13, ""},
	} {
		l, err := readText("Time,Speed\n"+c.text, twoWants)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if l.Rows() != c.rows || len(l.Columns[1].Values) != c.rows {
			t.Errorf("%s: %d rows, want %d", name, l.Rows(), c.rows)
		}
		if c.says == "" {
			if len(l.Findings) > 0 {
				t.Errorf("%s: %v", name, l.Findings)
			}
			continue
		}
		if len(l.Findings) != 1 || l.Findings[0].Line != c.line || !strings.Contains(l.Findings[0].Text, c.says) {
			t.Errorf("%s: %v, want line %d and %q", name, l.Findings, c.line, c.says)
		}
		if name == "starts again" && (len(l.Segments) != 2 || l.Segments[1] != 9) {
			t.Errorf("segments %v", l.Segments)
		}
		if last := l.Rows() - 1; name != "cut off" && l.Line(last) != 1+strings.Count(c.text, "\n") {
			t.Errorf("%s: the last row stands in line %d", name, l.Line(last))
		}
	}
	l, err := readText("Time,X,Speed,X\n0.1,1,2,3\n0.2,1,2,3\n", twoWants)
	if err != nil || len(l.Findings) != 1 || !strings.Contains(l.Findings[0].Text, "columns 2 and 4") {
		t.Errorf("%v, %v", l, err)
	}
}

func TestNumbers(t *testing.T) {
	for _, text := range []string{"0", "-0", "1", "12.5", "-.5", "5.", "+3", "123456789012345", "0.000000000000001", "1234567890123456789", "1e300", "2.5E-3", "99999.99999"} {
		want, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := parseNumber([]byte(text), '.'); !ok || got != want {
			t.Errorf("%s is %v, %v", text, got, ok)
		}
		if got, ok := parseNumber([]byte(strings.Replace(text, ".", ",", 1)), ','); !ok || got != want {
			t.Errorf("%s with a comma is %v, %v", text, got, ok)
		}
	}
	for _, text := range []string{"", ".", "-", "1.2.3", "1e", "0x10", "Inf", "nan", "1_000", "1e999", "12a", "1,5"} {
		if v, ok := parseNumber([]byte(text), '.'); ok {
			t.Errorf("%q is %v", text, v)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("Time,Speed\n0.00,1.5\n0.01,2.5\n")
	f.Add("Time;Speed\ns;mph\n0,00;1,5\n0,01;\"2,5\"\n")
	f.Add("a\n\nTime\tSpeed\n0\t1\n0\t1\n-1\t\n")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := readText(text, twoWants)
		if err != nil {
			return
		}
		n := l.Rows()
		for k, c := range l.Columns {
			if len(c.Values) != n {
				t.Fatalf("column %d has %d rows, the time %d", k, len(c.Values), n)
			}
		}
		for i := 1; i < n; i++ {
			rises := l.Columns[0].Values[i] > l.Columns[0].Values[i-1]
			begins := false
			for _, s := range l.Segments {
				begins = begins || s == i
			}
			if !rises && !begins || l.Line(i) <= l.Line(i-1) {
				t.Fatalf("row %d: time %v after %v, line %d after %d", i, l.Columns[0].Values[i], l.Columns[0].Values[i-1], l.Line(i), l.Line(i-1))
			}
		}
	})
}

// TestClean: spikes go, steps and peaks stay, slow channels are seen through,
// gaps are reported.
func TestClean(t *testing.T) {
	n := 1000
	at, ramp, step, slow := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range at {
		at[i] = float64(i) / 100
		ramp[i] = at[i]*20 + 0.1*math.Sin(float64(i)*1.7)
		step[i] = 100 + 30*math.Mod(at[i], 2) // falls at once every two seconds
		slow[i] = math.Floor(at[i]*10) * 3
	}
	ramp[300], ramp[301], ramp[700] = 900, math.NaN(), -50
	c := Clean(at, ramp)
	if c.Spikes != 2 || c.Blank != 1 || c.SpikeAt != at[300] || c.Gaps != 0 {
		t.Errorf("ramp: %+v", c.Changes())
	}
	if c = Clean(at, step); c.Spikes != 0 || c.Len() != n {
		t.Errorf("steps: %v", c.Changes())
	}
	if c = Clean(at, slow); !c.Held || c.Spikes != 0 || math.Abs(c.Every-0.1) > 1e-9 || c.Len() < 99 || c.Len() > 101 {
		t.Errorf("slow: %v, %d samples every %g s", c.Changes(), c.Len(), c.Every)
	}
	if v := c.At(5.05, c.Reach); math.Abs(v-(50.5*3)) > 1e-6 {
		t.Errorf("half way between two slow samples: %g", v)
	}
	c = Clean(append(at[:400:400], at[450:]...), append(step[:400:400], step[450:]...))
	if c.Gaps != 1 || math.Abs(c.Gap-0.51) > 1e-9 || !math.IsNaN(c.At(4.2, c.Reach)) || math.IsNaN(c.At(4.6, c.Reach)) {
		t.Errorf("gap: %v", c.Changes())
	}
}

func TestGuess(t *testing.T) {
	heads := []Head{}
	for _, text := range []string{"Time [s]", "Engine RPM", "GPS Speed (km/h)", "GPS Speed Accuracy [m/s]", "Rear wheel speed [km/h]", "MAP [kPa]", "Lambda 1", "Fuel flow [cc/min]", "Battery [V]", "Turbo shaft speed [krpm]"} {
		heads = append(heads, ReadHead(text))
	}
	var got []string
	for _, g := range GuessColumns(heads) {
		got = append(got, g.Name+"="+g.Head.Text+":"+g.Unit)
	}
	want := "time=Time [s]:s engine_speed=Engine RPM:rpm speed=GPS Speed (km/h):km/h wheel_speed=Rear wheel speed [km/h]:km/h boost=MAP [kPa]:kPa lambda=Lambda 1: fuel_flow=Fuel flow [cc/min]:cc/min"
	if strings.Join(got, " ") != want {
		t.Errorf("%s\nwant %s", strings.Join(got, " "), want)
	}
}

// BenchmarkRead is the cost of a million rows of ten columns, seven of them
// read.
func BenchmarkRead(b *testing.B) {
	const rows = 1_000_000
	var text bytes.Buffer
	text.WriteString("Time,Speed,A,B,C,D,E,F,G,H\n")
	var line []byte
	for i := range rows {
		line = strconv.AppendFloat(line[:0], float64(i)/1000, 'f', 3, 64)
		for k := range 9 {
			line = append(line, ',')
			line = strconv.AppendFloat(line, float64((i*(k+3))%100000)/100, 'f', 2, 64)
		}
		text.Write(append(line, '\n'))
	}
	wants := append([]Want{}, twoWants...)
	for _, name := range []string{"A", "B", "C", "D", "E"} {
		wants = append(wants, Want{name, name})
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		l, err := Read("run.csv", bytes.NewReader(text.Bytes()), int64(text.Len()), wants, nil)
		if err != nil || l.Rows() != rows {
			b.Fatal(err)
		}
	}
}

// TestClockThatJumps: a wrong time stamp is left out, a clock that was set
// begins another recording; either is reported with its line.
func TestClockThatJumps(t *testing.T) {
	rows := func(from, n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "%.2f,%d\n", float64(from+i)/100, i)
		}
		return b.String()
	}
	for name, c := range map[string]struct {
		text     string
		rows     int
		segments int
		line     int
		says     string
	}{
		"one stamp":            {rows(0, 50) + "1e15,1\n" + rows(51, 50), 100, 1, 52, "and back"},
		"the largest stamp":    {rows(0, 50) + "1.7e308,1\n" + rows(51, 50), 100, 1, 52, "and back"},
		"two stamps":           {rows(0, 50) + "1e15,1\n2e15,1\n" + rows(52, 50), 100, 1, 52, "and back"},
		"set ahead":            {rows(0, 50) + rows(100_000_000, 50), 100, 2, 52, "another recording"},
		"set ahead at the end": {rows(0, 50) + rows(100_000_000, 1), 51, 2, 52, "another recording"},
		"a pause":              {rows(0, 50) + rows(5000, 50), 100, 1, 0, ""},
		"from the first row":   {"-1e300,1\n" + rows(0, 50), 51, 2, 3, "another recording"},
	} {
		l, err := readText("Time,Speed\n"+c.text, twoWants)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if l.Rows() != c.rows || len(l.Segments) != c.segments {
			t.Errorf("%s: %d rows in %d segments, want %d in %d: %v", name, l.Rows(), len(l.Segments), c.rows, c.segments, l.Findings)
		}
		reported := c.says == ""
		for _, f := range l.Findings {
			reported = reported || f.Line == c.line && strings.Contains(f.Text, c.says)
		}
		if !reported {
			t.Errorf("%s: %+v", name, l.Findings)
		}
	}
}

// TestCorrelateIsBounded: whatever the times are, lining up ends soon.
func TestCorrelateIsBounded(t *testing.T) {
	series := func(times ...float64) Series {
		s := Series{T: times}
		for i := range times {
			s.V = append(s.V, float64(i%7))
		}
		return s
	}
	short := series(0, 1, 2, 3, 4, 5, 6, 7, 8, 9)
	for _, long := range []Series{
		series(0, 1, 2, 3, 4, 5, 6, 7, 8, 1e9), series(-1.7e308, 0, 1, 2, 3, 4, 5, 6, 7, 1.7e308), series(0, 1, 2, 3, 4, 5, 6, 7, 8, 1e300),
	} {
		if _, ok := Correlate(short, long, "x"); ok {
			t.Error("a log without end is lined up")
		}
		if _, ok := Correlate(long, short, "x"); ok {
			t.Error("a pass without end is lined up")
		}
	}
}
