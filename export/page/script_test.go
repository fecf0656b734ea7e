package page_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gearleaf/export/chart"
	"gearleaf/export/page"
	"gearleaf/sheet"
	"gearleaf/sheet/unit"
)

// inNode runs a script of testdata with arguments and text on standard input,
// and returns what it prints.
func inNode(t *testing.T, script, input string, args ...string) string {
	t.Helper()
	cmd := exec.Command(need(t, "node"), append([]string{"testdata/" + script, "script"}, args...)...)
	cmd.Stdin = strings.NewReader(input)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", script, err)
	}
	return string(out)
}

// TestNumbersAreWrittenAlike holds the script's writing of numbers to the unit
// package's: made by chance, ties, ends of the scale, noise of conversions.
func TestNumbersAreWrittenAlike(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	steps := []float64{0, 0, 1, 10, 0.1, 0.01, 0.001, 0.25, 0.5, 2.5, 5, 1e-6, 1000, 1e-12, 3}
	values := []float64{
		0, math.Copysign(0, -1), 0.5, 1.5, 2.5, -0.5, -2.5, 0.125, 0.375, 1.005, 2.675, 0.045, 1e15, 999999999999999, 1e-6, 9.999995e-7,
		123456.5, 1234565, 0.1234565, 999999.5, 9999995, 1e21, 1e300, 5e-324, math.MaxFloat64, 0.1 + 0.2, 8.4 / 1.4, 1e14 + 0.5, 4503599627370496.5,
	}
	for range 60_000 {
		v := math.Float64frombits(random.Uint64())
		switch random.IntN(5) {
		case 0:
			v = float64(random.IntN(2_000_001)-1_000_000) / 8 // ties
		case 1:
			v = (float64(random.IntN(200_000)) + 0.5) / math.Pow10(random.IntN(7))
		case 2:
			v = (random.Float64() - 0.5) * math.Pow10(random.IntN(20)-6)
		case 3:
			v = math.Round(random.Float64()*1e6) / 1e3 * 0.45359237 / 0.45359237 // noise
		}
		values = append(values, v)
	}
	var in, want strings.Builder
	for i, v := range values {
		if v != v || math.IsInf(v, 0) {
			continue
		}
		step := steps[i%len(steps)]
		other := v * (1 + math.Pow10(-1-random.IntN(17)))
		if math.IsInf(other, 0) {
			other = 0
		}
		typed := random.IntN(2)
		if typed == 1 {
			other = unit.Significant(other, 1+random.IntN(13))
		}
		fmt.Fprintf(&in, "%016x %016x %016x %d\n", math.Float64bits(v), math.Float64bits(step), math.Float64bits(other), typed)
		beside, places := "", unit.DecimalsBeside(v, step, other, step, typed == 1)
		if places >= 0 {
			beside = unit.FormatDecimals(v, places, step)
		}
		fmt.Fprintf(&want, "%s %.6g %d %s\n", unit.FormatNumber(v, step), v, places, beside)
	}
	sameLines(t, in.String(), inNode(t, "numbers.mjs", in.String()), want.String())
}

// sameLines compares line by line and shows the first that differ.
func sameLines(t *testing.T, in, got, want string) {
	t.Helper()
	ins, gots, wants := strings.Split(in, "\n"), strings.Split(got, "\n"), strings.Split(want, "\n")
	if len(gots) != len(wants) {
		t.Fatalf("%d lines for %d", len(gots), len(wants))
	}
	shown := 0
	for i := range wants {
		if gots[i] != wants[i] && shown < 10 {
			shown++
			t.Errorf("%s: the page writes %q, the tool %q", ins[i], gots[i], wants[i])
		}
	}
}

// TestMinifierKeepsArithmetic looks for forms that are right for small numbers
// only; no script has them.
func TestMinifierKeepsArithmetic(t *testing.T) {
	text := page.Scripts()
	for _, form := range []string{"|0", "**.5"} {
		if at := strings.Index(text, form); at >= 0 {
			t.Errorf("the minifier made %q: …%s…", form, text[max(0, at-40):at+20])
		}
	}
	for _, found := range regexp.MustCompile(`(\w+)<0\?-(\w+):(\w+)`).FindAllStringSubmatch(text, -1) {
		if found[1] == found[2] && found[2] == found[3] {
			t.Errorf("the minifier made %q", found[0])
		}
	}
}

// TestChartsAreDrawnAlike compares the script's drawing with the export's, byte
// for byte.
func TestChartsAreDrawnAlike(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	var charts []map[string]any
	var want []string
	for i := range 60 {
		c, size := randomChart(random, i)
		want = append(want, chart.Inline(c, size[0], size[1]))
		charts = append(charts, plainChart(c, size))
	}
	in, err := json.Marshal(charts)
	if err != nil {
		t.Fatal(err)
	}
	sameLines(t, strings.Repeat("chart\n", len(want)), inNode(t, "charts.mjs", string(in)), strings.Join(want, "\n")+"\n")
}

// randomChart returns a chart and the size to draw it in.
func randomChart(random *rand.Rand, i int) (chart.Chart, [2]int) {
	c := chart.Chart{Title: fmt.Sprintf("Chart <%d> & 'more'", i), X: "time, s", Y: "boost, psig"}
	rows := []int{0, 1, 2, 7, 30, 31, 400}[i%7]
	scale := math.Pow10(random.IntN(9) - 4)
	for k := range 1 + i%4 {
		s := chart.Series{Name: fmt.Sprintf("series number %d", k)}
		for row := range rows {
			x, y := float64(row)*scale, math.Sin(float64(row)/9+float64(k))*scale+random.Float64()*scale*0.01
			if random.IntN(15) == 0 {
				y = math.NaN()
			}
			s.X, s.Y = append(s.X, x), append(s.Y, y)
		}
		c.Series = append(c.Series, s)
	}
	if i%5 == 4 {
		c.Places = []string{}
		for row := range rows {
			c.Places = append(c.Places, fmt.Sprintf([]string{"pass %d", "a long name of pass %d", "pass"}[i/5%3], row))
		}
		for k := range c.Series {
			for row := range rows {
				c.Series[k].X[row] = float64(row)
			}
		}
	}
	return c, [2]int{[]int{328, 440, 760}[i%3], []int{300, 420}[i%2]}
}

// plainChart is a chart as the script takes it; no value is null.
func plainChart(c chart.Chart, size [2]int) map[string]any {
	var series []any
	for _, s := range c.Series {
		series = append(series, map[string]any{"name": s.Name, "x": numbers(s.X), "y": numbers(s.Y)})
	}
	return map[string]any{"title": c.Title, "axes": []string{c.X, c.Y}, "series": series, "places": c.Places, "size": size}
}

func numbers(list []float64) []any {
	out := make([]any, len(list))
	for i, v := range list {
		if v == v {
			out[i] = v
		}
	}
	return out
}

// TestShortFilesAreCurrent compares what the page carries with its sources.
func TestShortFilesAreCurrent(t *testing.T) {
	made := t.TempDir()
	if said, err := exec.Command("go", "run", "./bundle", ".", made).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	for _, name := range []string{"boot.js", "page.js", "page.css", "live.css"} {
		want, err := os.ReadFile(filepath.Join(made, name))
		if err != nil {
			t.Fatal(err)
		}
		have, err := os.ReadFile(filepath.Join("short", name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(have, want) {
			t.Errorf("short/%s is not what its sources say: run `go generate ./export/page`", name)
		}
	}
}

// TestScriptsFitTogether checks what putting the modules together demands: no
// name twice, and each after those that it imports.
func TestScriptsFitTogether(t *testing.T) {
	paths, err := filepath.Glob("script/*.js")
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]string{}
	declared := regexp.MustCompile(`(?m)^(?:export )?(?:async )?(?:function|class|const|let) +([A-Za-z0-9_]+)`)
	for _, path := range paths {
		if strings.HasSuffix(path, "worker.js") {
			continue // a script of its own
		}
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range declared.FindAllStringSubmatch(string(text), -1) {
			if other := names[found[1]]; other != "" {
				t.Errorf("%s and %s both declare %s", other, path, found[1])
			}
			names[found[1]] = path
		}
		if bytes.Contains(text, []byte("eval(")) || bytes.Contains(text, []byte("new Function")) {
			t.Errorf("%s evaluates text", path)
		}
		if n := bytes.Count(text, []byte("innerHTML")); n > 0 && !bytes.Contains(text, []byte("made by drawn, which escapes every text")) {
			t.Errorf("%s sets innerHTML", path)
		}
	}
}

// The bounds of a page's size, in bytes: of a sheet alone, and of a book of
// others. Of the largest book, which is twice as long as the others, half is the
// document that is read without scripts.
const (
	mostAlone   = 100_000
	mostOfBook  = 250_000
	mostOfAll   = 400_000
	largestBook = "between-rounds.html"
)

// TestPagesAreSmall holds the size of every ready worksheet's page to its bound.
func TestPagesAreSmall(t *testing.T) {
	for _, path := range templatePages(t) {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		bound := int64(mostAlone)
		switch name := filepath.Base(path); {
		case name == largestBook:
			bound = mostOfAll
		case usesMany(t, name):
			bound = mostOfBook
		}
		if info.Size() > bound {
			t.Errorf("%s has %d bytes, more than %d", filepath.Base(path), info.Size(), bound)
		}
	}
}

// usesMany reports whether a ready worksheet is made of others.
func usesMany(t *testing.T, page string) bool {
	t.Helper()
	s, list := sheet.Load("../../templates/" + strings.TrimSuffix(page, ".html") + ".leaf")
	if s == nil {
		t.Fatal(list)
	}
	return len(s.Model.Files) > 1
}

// TestPagesAreAlike writes a page twice: the bytes are equal.
func TestPagesAreAlike(t *testing.T) {
	a, errA := os.ReadFile(pageFile(t, "bike", bike))
	b, errB := os.ReadFile(pageFile(t, "bike", bike))
	if errA != nil || errB != nil || !bytes.Equal(a, b) {
		t.Error("the same worksheet gives two pages")
	}
}
