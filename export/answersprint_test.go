package export

import (
	"bytes"
	"context"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/pass"
	"gearleaf/sheet/passbook"
	"gearleaf/sheet/question"
)

// answerPages are the printed workbooks of answers, with the largest number of
// pages of each.
var answerPages = map[string]int{"answer-sweep": 2, "answer-two-givens": 2, "answer-many": 6, "answer-random": 6, "answer-log": 8, "answer-passes": 2}

// answerBooks returns workbooks of answers: sweeps, a log, a book of passes.
func answerBooks(t *testing.T) map[string][]byte {
	t.Helper()
	only := regexp.MustCompile(*sampleNames)
	made := map[string]func(t *testing.T) []byte{
		"answer-sweep":      func(t *testing.T) []byte { return sweepBook(t, "rear_sprocket") },
		"answer-two-givens": func(t *testing.T) []byte { return sweepBook(t, "rear_sprocket=38..44", "front_sprocket=14..17") },
		"answer-many": func(t *testing.T) []byte {
			return sweepBook(t, "rear_sprocket=38..44", "front_sprocket=14..17", "head_wind=-5..5")
		},
		"answer-random": func(t *testing.T) []byte {
			return changedSweep(t, func(w *question.Sweep) { w.Draw(300, 7) }, "rear_sprocket=38..44", "head_wind=-5..5")
		},
		"answer-log": logBook, "answer-passes": passesBook,
	}
	out := map[string][]byte{}
	for name, make := range made {
		if only.MatchString(name) {
			out[name] = make(t)
		}
	}
	return out
}

func quarterMile(t *testing.T) *sheet.Sheet {
	t.Helper()
	s, list := sheet.Load("../templates/quarter-mile.leaf")
	if s == nil {
		t.Fatal(list)
	}
	return s
}

func sweepBook(t *testing.T, axes ...string) []byte {
	t.Helper()
	return changedSweep(t, func(*question.Sweep) {}, axes...)
}

// changedSweep returns the workbook of a sweep after change.
func changedSweep(t *testing.T, change func(*question.Sweep), axes ...string) []byte {
	t.Helper()
	s := quarterMile(t)
	var all []question.Axis
	for _, text := range axes {
		a, d := question.ParseAxis(s, text, false)
		if d != nil {
			t.Fatal(d.Message)
		}
		all = append(all, a)
	}
	show, d := question.ParseShow(s, []string{"elapsed_time", "trap_speed"})
	if d != nil {
		t.Fatal(d.Message)
	}
	w, d := question.NewSweep(s, all, show)
	if d != nil {
		t.Fatal(d.Message)
	}
	change(w)
	var out bytes.Buffer
	if _, err := WriteSweep(context.Background(), &out, ".xlsx", w, Origin{}, func(int) {}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// logBook is an invented log compared with the sheet.
func logBook(t *testing.T) []byte {
	t.Helper()
	s := quarterMile(t)
	run := filepath.Join(t.TempDir(), "run.csv")
	w, err := os.Create(run)
	if err != nil {
		t.Fatal(err)
	}
	q := pass.InventQuestion{Mapping: pass.Mapping(s), Seed: 7, Rate: 100, Noise: 1, Delimiter: ',', Point: '.', Before: 3, After: 2}
	if err := pass.Invent(s, w, q); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	file, err := pass.ReadLog(s, run, q.Mapping, func(int64, int64) error { return nil })
	if err != nil {
		t.Fatal(err)
	}
	h, err := pass.Hold(s, pass.LogQuestion{Mapping: q.Mapping, File: file, Pass: 1})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := WriteTabs(&out, s.Model.Title, LoggedTabs(h)); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// passesBook is a book of invented passes, with one of another kind of text.
func passesBook(t *testing.T) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.csv")
	head := []string{"at", "sheet", "sheet sha256", "elapsed_time s", "trap_speed mph", "note"}
	for i := range 5 {
		_, err := passbook.Add(path, head, map[string]string{
			"at": "2026-05-02T10:1" + strconv.Itoa(i) + ":00Z", "sheet": "quarter-mile.leaf",
			"sheet sha256":   "a334084398a0f776ea720f7f5f75667f44490aa6a614795851a5662318b13e01",
			"elapsed_time s": strconv.FormatFloat(7.3-float64(i*i)/100, 'f', 3, 64), "trap_speed mph": "192.5", "note": "head wind, 5 mph",
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	b, err := passbook.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	answer := PassesAnswer(b, b.Lines)
	if tab := answer.tab; len(tab.Rows) != 5 || len(tab.Charts) != 1 || len(tab.Fields) != 8 {
		t.Fatalf("%+v", tab)
	}
	var out bytes.Buffer
	if err := answer.Write(&out, ".xlsx", Origin{}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// TestUnitOfBookColumn reads the heads of a book: those of results, in whose sheet
// the unit is known, of a log's marks, and of a person.
func TestUnitOfBookColumn(t *testing.T) {
	const text = "unit plug\nunit psi = 1 psig\ndraw : 30 A\ntank : 4 galUS\nlane : 2\nboost = 20 psi as psi\nspare = 3 plug as plug\nname : \"a\"\n"
	s := load(t, "kept", text)
	path := filepath.Join(t.TempDir(), "book.csv")
	parts, err := s.s.Parts()
	if err != nil {
		t.Fatal(err)
	}
	hash := sheet.Hash(parts)
	if err := passbook.Keep(path, hash, []passbook.File{{Path: "kept.leaf", Data: []byte(text)}}); err != nil {
		t.Fatal(err)
	}
	wants := map[string]Field{
		"draw A":           {Name: "draw", Unit: "A"},
		"draw mA":          {Name: "draw", Unit: "mA"},
		"boost psi":        {Name: "boost", Unit: "psi"},
		"spare plug":       {Name: "spare", Unit: "plug"},
		"trap_speed mph":   {Name: "trap_speed", Unit: "mph"},
		"elapsed 1320 s":   {Name: "elapsed 1320", Unit: "s"},
		"tank A":           {Name: "tank A"}, // the sheet's tank is a volume
		"lane C":           {Name: "lane C"},
		"name V":           {Name: "name V"},
		"head wind":        {Name: "head wind"},
		"engine":           {Name: "engine"},
		"battery.drawn mA": {Name: "battery.drawn", Unit: "mA"},
		"oil L":            {Name: "oil L"},
	}
	head, values := []string{"sheet", "sheet sha256"}, map[string]string{"sheet": "kept.leaf", "sheet sha256": hash}
	for _, name := range slices.Sorted(maps.Keys(wants)) {
		head, values[name] = append(head, name), "1.5"
	}
	if _, err := passbook.Add(path, head, values); err != nil {
		t.Fatal(err)
	}
	// the sheet of a later pass cannot be read: that of an earlier one says it
	values["sheet sha256"] = strings.Repeat("0", 64)
	if _, err := passbook.Add(path, head, values); err != nil {
		t.Fatal(err)
	}
	b, err := passbook.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	fields := passesRecords(b, b.Lines).Fields
	for i, name := range b.Head {
		want, ok := wants[name]
		if got := fields[i+1]; ok && (got.Name != want.Name || got.Unit != want.Unit) {
			t.Errorf("%q is the field %+v", name, got)
		}
	}
}
