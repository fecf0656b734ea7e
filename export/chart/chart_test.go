package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func curve(n int) Series {
	s := Series{Name: "boost"}
	for i := range n {
		x := float64(i) * 10 / float64(n-1)
		s.X, s.Y = append(s.X, x), append(s.Y, 21*(1-math.Exp(-x)))
	}
	return s
}

func sample() Chart {
	two := curve(12)
	two.Name = "boost & <dome>"
	for i := range two.Y {
		two.Y[i] /= 2
	}
	two.Y[5] = math.NaN()
	return Chart{Title: "Boost by time", X: "time, s", Y: "psig", Series: []Series{curve(50), two}}
}

// TestAxis checks that marks are round, few, and hold the range.
func TestAxis(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		want   string
	}{
		{0, 10, "0 2 4 6 8 10"},
		{79.4, 168.4, "60 80 100 120 140 160 180"},
		{-0.3, 0.3, "-0.3 -0.2 -0.1 0.0 0.1 0.2 0.3"},
		{10030, 21030, "10000 12000 14000 16000 18000 20000 22000"},
		{5, 5, "4.4 4.6 4.8 5.0 5.2 5.4 5.6"},
		{1e-9, 3e-9, "1e-09 1.5e-09 2e-09 2.5e-09 3e-09"},
	} {
		a := NewAxis(c.lo, c.hi, 6)
		at, text := a.Marks()
		if a.Lo > c.lo+1e-9*a.Step || a.Hi < c.hi-1e-9*a.Step || len(at) < 3 || len(at) > 9 {
			t.Errorf("%g..%g: axis %+v with %d marks", c.lo, c.hi, a, len(at))
		}
		if got := strings.Join(text, " "); got != c.want {
			t.Errorf("%g..%g: marks %s, want %s", c.lo, c.hi, got, c.want)
		}
		if text[0] == text[1] {
			t.Errorf("%g..%g: two marks read alike: %s", c.lo, c.hi, text[0])
		}
	}
}

// TestPictures checks that both pictures read back, hold every chart, and are
// the same twice.
func TestPictures(t *testing.T) {
	charts := []Chart{sample(), {Title: "Empty", Series: []Series{{Name: "none"}}}}
	var svg, again, raster, twice bytes.Buffer
	for _, w := range []*bytes.Buffer{&svg, &again} {
		if err := WriteSVG(w, charts); err != nil {
			t.Fatal(err)
		}
	}
	for _, w := range []*bytes.Buffer{&raster, &twice} {
		if err := WritePNG(w, charts); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(svg.Bytes(), again.Bytes()) || !bytes.Equal(raster.Bytes(), twice.Bytes()) {
		t.Error("the same charts gave other bytes")
	}
	for _, want := range []string{"Boost by time", "boost &amp; &lt;dome&gt;", "nothing to draw", "time, s"} {
		if !strings.Contains(svg.String(), want) {
			t.Errorf("SVG lacks %q", want)
		}
	}
	d := xml.NewDecoder(&svg)
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	img, err := png.Decode(&raster)
	if err != nil {
		t.Fatal(err)
	}
	if b := img.Bounds(); b.Dx() != Width*scale || b.Dy() != 2*Height*scale {
		t.Errorf("picture is %v", b)
	}
}

// TestBars draws values of names as bars that begin at 0, with what is seen in
// words.
func TestBars(t *testing.T) {
	c := Chart{
		Title: "By fuel", Seen: "Bars over Fuel", Places: []string{"gasoline", "methanol"},
		Series: []Series{{Name: "heat", X: []float64{0, 1}, Y: []float64{44, 20}}, {Name: "air", X: []float64{0, 1}, Y: []float64{14.7, math.NaN()}}},
	}
	var svg bytes.Buffer
	if err := WriteSVG(&svg, []Chart{c}); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(svg.String(), "V"); n != 3+2 {
		t.Errorf("%d bars for three values and a legend of two", n)
	}
	if strings.Contains(svg.String(), "<circle") || !strings.Contains(svg.String(), "<desc>Bars over Fuel</desc>") {
		t.Error("bars have dots, or nothing says what is seen")
	}
	if page := Inline(c, Width, Height); strings.Count(page, "V") != 3+2 || strings.Contains(page, "class=\"line") {
		t.Errorf("a page has no bars:\n%s", page)
	}
	if y := c.fromZero(Axis{Lo: 14, Hi: 44, Step: 5}, 5); y.Lo != 0 || y.Hi < 44 {
		t.Errorf("the bars begin at %g", y.Lo)
	}
}

// TestNamesDoNotOverprint checks that the names below bars have room: two long ones
// wrap, twenty read upwards, and of a hundred some are left out.
func TestNamesDoNotOverprint(t *testing.T) {
	long := "Methanol with four percent nitropropane, drum "
	for _, c := range []struct {
		count   int
		upward  bool
		written int
	}{{2, false, 2}, {3, false, 3}, {20, true, 20}, {100, true, 50}} {
		var places []string
		for i := range c.count {
			places = append(places, long+strconv.Itoa(i))
		}
		n := Chart{Places: places}.namesFor(Width, Height)
		room := float64(Width-left-right) / float64(c.count)
		written, texts := 0, map[string]bool{}
		for i, lines := range n.lines {
			if i%n.step != 0 {
				continue
			}
			written++
			texts[strings.Join(lines, " ")] = true
			for _, line := range lines {
				if wide := nameChar * float64(len([]rune(line))); !n.upward && wide > room || n.upward && wide > Height*mostOf {
					t.Errorf("%d names: %q is %g pixels long", c.count, line, wide)
				}
			}
		}
		if n.upward != c.upward || written != c.written || len(texts) != written {
			t.Errorf("%d names: upwards %v, %d written, %d of them differ", c.count, n.upward, written, len(texts))
		}
		if n.upward && room*float64(n.step) < nameLine {
			t.Errorf("%d names: %g pixels from one to the next", c.count, room*float64(n.step))
		}
		if n.high > Height/2 {
			t.Errorf("%d names: %g pixels high", c.count, n.high)
		}
	}
}

// TestBarLegend checks that the legend of bars shows their colours, not dashes.
func TestBarLegend(t *testing.T) {
	bar := Series{X: []float64{0}, Y: []float64{1}}
	var svg bytes.Buffer
	if err := WriteSVG(&svg, []Chart{{Places: []string{"one"}, Series: []Series{bar, bar}}}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(svg.String(), "stroke-dasharray") || strings.Count(svg.String(), "V") != 4 {
		t.Errorf("not two bars and their colours:\n%s", svg.String())
	}
}

// TestThin keeps corners and leaves out what lies on the line.
func TestThin(t *testing.T) {
	var points []point
	for i := range 1000 {
		y := 0.0
		if i >= 500 {
			y = float64(i - 500)
		}
		points = append(points, point{float64(i), y})
	}
	want := []point{{0, 0}, {500, 0}, {999, 499}}
	if got := thin(points); len(got) != 3 || got[0] != want[0] || math.Abs(got[1].x-500) > 1 || got[2] != want[2] {
		t.Errorf("thinned to %v, want about %v", got, want)
	}
	same := []point{{1, 1}, {1, 1}}
	if got := thin(same); len(got) != 2 {
		t.Errorf("two points at one place thinned to %v", got)
	}
}

// TestText compares the terminal's drawing with what it should look like.
func TestText(t *testing.T) {
	line := Chart{Title: "Straight", X: "x", Y: "y", Series: []Series{{Name: "a", X: []float64{0, 10}, Y: []float64{0, 10}}}}
	want := strings.Join([]string{
		"Straight",
		"  y",
		"  10 ┤                      ⣀⠤⠒⠉",
		"     │                 ⢀⡠⠔⠒⠉",
		"   5 ┤             ⣀⠤⠒⠊⠁",
		"     │        ⢀⡠⠤⠒⠉",
		"     │    ⣀⠤⠔⠊⠁",
		"   0 ┤⣀⠤⠒⠉",
		"     └┴────────────┴───────────┴",
		"      0            5          10",
		"      x",
		"",
	}, "\n")
	if diff := cmp.Diff(want, Text(line, 32, 10)); diff != "" {
		t.Error(diff)
	}
	for _, l := range strings.Split(Text(sample(), 60, 16), "\n") {
		if n := len([]rune(l)); n > 66 {
			t.Errorf("a line of %d characters: %q", n, l)
		}
	}
}

// TestExtremes draws numbers at the ends of the range of float64, beside each
// other: nothing may panic or loop for ever, and no label is long.
func TestExtremes(t *testing.T) {
	values := []float64{0, 1, -1, 1e100, math.MaxFloat64, -math.MaxFloat64, 5e-324, -1e-310, 1 + 2e-16, 1e15 + 0.25, math.NaN()}
	for _, a := range values {
		for i, b := range values {
			for _, series := range [][]Series{
				{{"s", []float64{a, b}, []float64{b, a}}},
				{{"s", []float64{a, b}, []float64{1, 2}}, {"t", []float64{1, 2}, []float64{a, b}}},
			} {
				c := Chart{Title: "t", X: "x", Y: "y", Series: series}
				for _, line := range strings.Split(Text(c, 60, 12), "\n") {
					if len([]rune(line)) > 80 {
						t.Fatalf("%g and %g: %q", a, b, line)
					}
				}
				var svg bytes.Buffer
				if err := WriteSVG(&svg, []Chart{c}); err != nil || strings.Contains(svg.String(), "NaN") || strings.Contains(svg.String(), "Inf") {
					t.Errorf("%g and %g: %v, %s", a, b, err, svg.String())
				}
				if i%4 > 0 {
					continue // a PNG takes long
				}
				if err := WritePNG(io.Discard, []Chart{c}); err != nil {
					t.Errorf("%g and %g: %v", a, b, err)
				}
			}
		}
	}
}
