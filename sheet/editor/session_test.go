package editor_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"gearleaf/sheet/diag"
	"gearleaf/sheet/editor"
	"gearleaf/sheet/source"
)

// keystroke is one edit: delete bytes at a place, insert a text there.
type keystroke struct {
	at, delete int
	insert     string
}

func (k keystroke) apply(text string) string { return text[:k.at] + k.insert + text[k.at+k.delete:] }

// session returns the recorded session: an invented worksheet is typed, with
// errors, and corrected in the middle.
func session(t testing.TB) []keystroke {
	t.Helper()
	f, err := os.Open("testdata/session.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []keystroke
	for s := bufio.NewScanner(f); s.Scan(); {
		var fields [3]any
		if err := json.Unmarshal(s.Bytes(), &fields); err != nil {
			t.Fatal(err)
		}
		out = append(out, keystroke{int(fields[0].(float64)), int(fields[1].(float64)), fields[2].(string)})
	}
	if len(out) != 2000 {
		t.Fatalf("%d keystrokes", len(out))
	}
	return out
}

// seen is everything that an editor is shown of a document.
func seen(d *editor.Document) string {
	var b strings.Builder
	for _, f := range d.Diagnostics() {
		for _, one := range f.List {
			fmt.Fprintln(&b, filepath.Base(f.Path), one.Code, one.Span, one.Message)
		}
	}
	for _, n := range d.Notes() {
		// A new reading does not have the values from before an error.
		if text := old.ReplaceAllString(n.Text, "$1"); !strings.HasPrefix(text, "was ") {
			fmt.Fprintln(&b, n.Offset, text)
		}
	}
	fmt.Fprintln(&b, d.Outline(), d.Folds(), d.Tokens(), d.Lenses(), d.Links())
	return b.String()
}

var old = regexp.MustCompile(`^was .*, (waits for)`)

// TestSessionEqualsFreshReadings replays the session: after every keystroke the
// workspace shows what a fresh one does.
func TestSessionEqualsFreshReadings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "session.leaf")
	w := editor.NewWorkspace()
	text := ""
	broken, confirmed := 0, 0
	for i, k := range session(t) {
		text = k.apply(text)
		w.Set(path, text)
		d := w.Document(path)
		if d.List().Errors() {
			broken++
		}
		fresh := editor.NewWorkspace()
		fresh.Set(path, text)
		if got, want := seen(d), seen(fresh.Document(path)); got != want {
			t.Fatalf("after keystroke %d:\n%s\na fresh reading shows\n%s", i+1, got, want)
		}
		if i%100 == 0 && d.Confirm(t.Context()) == editor.Confirmed {
			confirmed++
		}
	}
	if broken < 200 || broken > 1900 || confirmed < 10 {
		t.Errorf("%d of the states had errors, %d were confirmed", broken, confirmed)
	}
}

// everything requests every feature of a document at a place.
func everything(w *editor.Workspace, path string, at int32) {
	d := w.Document(path)
	d.Diagnostics()
	d.Notes()
	d.Hover(at)
	d.Complete(at, nil)
	d.Signature(at)
	d.Definition(at)
	w.References(path, at, true)
	d.Highlights(at)
	if o, err := d.PrepareRename(at); err == nil && o != nil {
		_, _ = w.Rename(path, at, "another_name")
	}
	d.Outline()
	d.Folds()
	d.Selection(at)
	d.Links()
	d.Tokens()
	for i, l := range d.Lenses() {
		if i == 3 {
			break
		}
		d.Reaches(l.Name)
	}
	for _, a := range d.Actions(source.Span{Start: at, End: at}) {
		for _, f := range a.Files {
			for _, e := range f.Edits {
				_ = f.File.Slice(e.Span)
			}
		}
	}
	d.Format()
	line := d.File.LineOf(at)
	d.FormatLines(line, line)
	d.FormatTyped(line)
}

// TestTableWithoutColumns requests every feature at every place of sheets
// whose table has no column: there is one error, and nothing panics.
func TestTableWithoutColumns(t *testing.T) {
	w := editor.NewWorkspace()
	path := filepath.Join(t.TempDir(), "a.leaf")
	for _, table := range []string{"table t", "table t rows 3", "table t rows 3 until x > 2 m", "table t from \"nosuch.csv\""} {
		text := "x = 1 m\n" + table + "\ny = x\n"
		w.Set(path, text)
		if list := w.Document(path).Diagnostics(); !strings.Contains(fmt.Sprint(list), string(diag.TableColumns)) {
			t.Errorf("%s: %v", table, list)
		}
		for at := range len(text) + 1 {
			everything(w, path, int32(at))
		}
	}
}

// TestRandomEditsAskEverything edits at random places and asks everything
// there: nothing panics.
func TestRandomEditsAskEverything(t *testing.T) {
	n := 400
	if text := os.Getenv("GEARLEAF_EDITS"); text != "" {
		if _, err := fmt.Sscan(text, &n); err != nil {
			t.Fatal(err)
		}
	}
	rng := rand.New(rand.NewPCG(3, uint64(n)))
	dir := t.TempDir()
	path := filepath.Join(dir, "a.leaf")
	start := "use \"b.leaf\"\nrear : 42 teeth\n" + final(t)
	if err := os.WriteFile(filepath.Join(dir, "b.leaf"), []byte("rear : 41 teeth\nfront2 : 17 teeth\nr2 = rear / front2\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	text := start
	w := editor.NewWorkspace()
	pieces := strings.Fields("( ) [ ] \" : = , . | # table function limit use if then else gears.speed prev( sum( lookup(1,2,3) 5 mm % \n \n\x20\x20 ± as to é 𝄞 use\x20\"b.leaf\"")
	for i := range n {
		if i%60 == 0 {
			text = start
		}
		at := rng.IntN(len(text) + 1)
		end := min(len(text), at+rng.IntN(4))
		switch rng.IntN(3) {
		case 0:
			text = text[:at] + text[end:]
		case 1:
			text = text[:at] + pieces[rng.IntN(len(pieces))] + text[at:]
		case 2:
			text = text[:at] + pieces[rng.IntN(len(pieces))] + " " + text[end:]
		}
		text = strings.ToValidUTF8(text, "")
		w.Set(path, text)
		func() {
			defer func() {
				if p := recover(); p != nil {
					t.Logf("at %d of:\n%s", at, text)
					panic(p)
				}
			}()
			everything(w, path, int32(min(at, len(text))))
		}()
	}
}

// final is the text that the session ends in.
func final(t testing.TB) string {
	text := ""
	for _, k := range session(t) {
		text = k.apply(text)
	}
	return text
}

// TestPositionsAreUTF16 compares positions with counts by hand.
func TestPositionsAreUTF16(t *testing.T) {
	f := source.New("x", "a é𝄞b\r\nc\n")
	for offset, want := range map[int32]editor.Position{0: {}, 2: {0, 2}, 4: {0, 3}, 8: {0, 5}, 9: {0, 6}, 11: {1, 0}, 12: {1, 1}, 13: {2, 0}} {
		if got := editor.PositionOf(f, offset); got != want {
			t.Errorf("offset %d is %v, not %v", offset, got, want)
		}
		if back := editor.OffsetOf(f, want); back != offset {
			t.Errorf("%v is offset %d, not %d", want, back, offset)
		}
	}
	if at := editor.OffsetOf(f, editor.Position{Line: 0, Character: 99}); at != 9 {
		t.Errorf("after the end of a line is offset %d", at)
	}
	if at := editor.OffsetOf(f, editor.Position{Line: 9, Character: 9}); at != int32(len(f.Text)) {
		t.Errorf("after the end of the text is offset %d", at)
	}
}

// TestMemoryIsSteady: ten thousand edits do not increase memory.
func TestMemoryIsSteady(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a few seconds")
	}
	path := filepath.Join(t.TempDir(), "a.leaf")
	w := editor.NewWorkspace()
	base := final(t)
	edit := func(n int) {
		for i := range n {
			w.Set(path, base+strings.Repeat("x", i%7)+"\n")
			w.Document(path).Notes()
		}
	}
	heap := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	edit(500)
	before := heap()
	edit(edits())
	if after := heap(); after > before+before/4+1<<20 {
		t.Errorf("the heap grew from %d to %d bytes", before, after)
	}
}

// edits is how many edits the test of memory makes.
func edits() int {
	if os.Getenv("GEARLEAF_EDITS") != "" {
		return 10_000
	}
	return 1500
}

// sheetOf returns a worksheet of n cells that all differ.
func sheetOf(n int) string {
	var b strings.Builder
	fmt.Fprintln(&b, "g0 : 1.5\ng1 : 2 m\ng2 : 3 s")
	for i := range n {
		switch i % 5 {
		case 0:
			fmt.Fprintf(&b, "c%d = g0 * %d.25 + %d\n", i, i, i%7)
		case 1:
			fmt.Fprintf(&b, "c%d = c%d * g1 / (g2 + %d s) to 0.01\n", i, i-1, i)
		case 2:
			fmt.Fprintf(&b, "c%d = max(c%d, %d.5) * sqrt(g0 + %d) \"number %d\"\n", i, i-2, i, i, i)
		case 3:
			fmt.Fprintf(&b, "c%d = if c%d > %d then c%d else g0 ^ 2 + %d\n", i, i-3, i, i-1, i)
		case 4:
			fmt.Fprintf(&b, "c%d = c%d as km/h\n", i, i-3)
		}
	}
	return b.String()
}

// BenchmarkKeystroke is the time from a keystroke to diagnostics and values:
// goals are 5 ms for 150 cells, 8 ms for the pass sheet, 50 ms for 10,000
// cells that all differ.
func BenchmarkKeystroke(b *testing.B) {
	pass, err := os.ReadFile("../../templates/quarter-mile.leaf")
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct{ name, text string }{{"150 cells", sheetOf(150)}, {"pass sheet", string(pass)}, {"10000 cells", sheetOf(10_000)}} {
		b.Run(c.name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "a.leaf")
			w := editor.NewWorkspace()
			var times []time.Duration
			for i := 0; b.Loop(); i++ {
				from := time.Now()
				w.Set(path, c.text+"# "+strings.Repeat("x", i%9)+"\n")
				d := w.Document(path)
				d.Diagnostics()
				if len(d.Notes()) < 10 || d.List().Errors() {
					b.Fatal(d.List())
				}
				times = append(times, time.Since(from))
			}
			slices.Sort(times)
			b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "ms/median")
		})
	}
}
