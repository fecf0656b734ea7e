package wasm_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"gearleaf/formulas"
	"gearleaf/sheet/check"
	"gearleaf/sheet/generate"
	"gearleaf/sheet/graph"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
	"gearleaf/sheet/program/lower"
	"gearleaf/sheet/program/wasm"
	"gearleaf/sheet/referee"
	"gearleaf/sheet/source"
	"gearleaf/sheet/syntax"
)

var library = check.ReadLibrary(formulas.Files(), formulas.Intrinsics())

func every(int32) bool { return true }

// sheetOf checks and lowers a text; ok is false if it has errors.
func sheetOf(t testing.TB, text string) (s *lower.Sheet, ok bool) {
	t.Helper()
	tree, list := syntax.Parse(source.New("test.leaf", text))
	if list.Errors() {
		return nil, false
	}
	m, list := check.Check(check.Input{Files: []check.File{{Tree: tree}}, Library: library})
	if list.Errors() {
		return nil, false
	}
	g, cycles := graph.Build(m)
	return lower.Lower(m, g, false), len(cycles) == 0
}

// lane shows one lane of an instance to the referee.
type lane struct {
	m  *check.Model
	in *wasm.Instance
	at int
}

func (l lane) Cell(i int) float64 { return l.in.Cell(i, l.at) }
func (l lane) Entry(column, row int) float64 {
	c := l.m.Columns[column]
	rows, end := l.in.Live(c.Table.Index, l.at)
	switch {
	case row < rows || c.Given && end == 2:
		return l.in.Stored(column, row, l.at)
	case end == 2:
		return kernel.Fault
	}
	return kernel.Blank
}

func (l lane) Live(table int) (int, bool) {
	rows, end := l.in.Live(table, l.at)
	if end != 0 {
		return l.m.Tables[table].Rows, false
	}
	return rows, true
}
func (l lane) Limit(i int) (float64, int)  { return l.in.Verdict(i, l.at) }
func (l lane) Advice(i int) (float64, int) { return l.in.Verdict(len(l.m.Limits)+i, l.at) }

func instance(t testing.TB, s *lower.Sheet, lanes int) *wasm.Instance {
	t.Helper()
	return started(t, wasm.Emit(s, every, lanes))
}

// started compiles a module and makes an instance of it.
func started(t testing.TB, m *wasm.Module) *wasm.Instance {
	t.Helper()
	c, err := wasm.Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	in, err := c.New()
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// judge compares every lane of an instance with the referee, whose givens are those
// of the sheet.
func judge(t testing.TB, s *lower.Sheet, in *wasm.Instance, what string) {
	t.Helper()
	r, err := referee.New(s.Code.Model, s.Graph)
	if err != nil {
		t.Fatal(err)
	}
	for at := range in.Lanes {
		found, err := referee.Confirm(t.Context(), r, lane{s.Code.Model, in, at}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range found {
			t.Errorf("%s: lane %d: the evaluators differ on %s", what, at, d)
		}
	}
}

// seedsOf is the number of generated sheets in a test: fewer in a short run,
// GEARLEAF_SEEDS in a long one.
func seedsOf(n uint64) uint64 {
	if more, err := strconv.ParseUint(os.Getenv("GEARLEAF_SEEDS"), 10, 32); err == nil {
		return more
	}
	if testing.Short() {
		return n / 4
	}
	return n
}

// TestGeneratedSheets compares both forms, alone and in lanes, with the referee on
// sheets of all kinds.
func TestGeneratedSheets(t *testing.T) {
	seeds := seedsOf(24)
	texts := map[string]string{"gearing": generate.Gearing150(), "steps": generate.StepTable(300), "layers": generate.Layered(3000, 1)}
	for seed := range seeds {
		o := generate.Everything(seed, 5+int(seed%60))
		o.Faults = seed%3 != 0
		texts[fmt.Sprint("seed ", seed)] = generate.Worksheet(o)
	}
	careful := 0
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			s, ok := sheetOf(t, text)
			if !ok {
				t.Fatal("it does not check")
			}
			for form := range 3 {
				if ran(t, s, form) {
					careful++
				}
			}
		})
	}
	t.Logf("%d of %d runs had parts that were computed with care", careful, 2*len(texts))
}

// ran runs a sheet by the general form (form 0), in one lane or in two,
// compares it with the referee, and reports whether the fast form was not
// enough.
func ran(t *testing.T, s *lower.Sheet, form int) (careful bool) {
	t.Helper()
	in := instance(t, s, max(form, 1))
	bits, err := 0, error(nil)
	if form == 0 {
		err = in.Care()
	} else {
		bits, err = in.Run()
	}
	if err != nil {
		t.Fatal(err)
	}
	judge(t, s, in, fmt.Sprint("form ", form))
	return bits != 0
}

// TestKernelNames: every function that a formula or an operation can call has
// its form.
func TestKernelNames(t *testing.T) {
	for _, row := range code.Ops {
		if row.Kernel != "" && !wasm.HasKernel(row.Kernel) {
			t.Errorf("%s: the kernel's function %s is not translated: add it to the go:generate line of assemble.go", row.Name, row.Kernel)
		}
	}
	for _, row := range formulas.Intrinsics() {
		if row.Rule == kernel.Column || row.Rule == kernel.LookupRule || row.Rule == kernel.Constant {
			continue
		}
		for _, name := range wasm.KernelNames(&row) {
			if !wasm.HasKernel(name) {
				t.Errorf("%s: the kernel's function %s is not translated: add it to the go:generate line of assemble.go", row.Name, name)
			}
		}
	}
}

func readTemplates(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob("../../../templates/*.leaf")
	if err != nil || len(files) == 0 {
		t.Fatal(err, files)
	}
	out := map[string]string{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(f)] = string(text)
	}
	return out
}

// TestTemplates is TestGeneratedSheets on the templates that use no files.
func TestTemplates(t *testing.T) {
	found := 0
	for name, text := range readTemplates(t) {
		s, ok := sheetOf(t, text)
		if !ok {
			continue // it uses files
		}
		found++
		module := wasm.Emit(s, every, 1)
		for lanes := 1; lanes <= 2; lanes++ {
			in := instance(t, s, lanes)
			bits, err := in.Run()
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%s: %d bytes, %d lanes, care %b", name, len(module.Code), lanes, bits)
			judge(t, s, in, name)
		}
	}
	if found < 5 {
		t.Errorf("%d templates", found)
	}
}

// TestChoicesAcrossCalls: a chosen number that is kept while functions are
// called. wazero's compiler lost selected f64s and v128s that it had to spill.
func TestChoicesAcrossCalls(t *testing.T) {
	for _, last := range []string{
		"u = hypot(if a then 6.99 else 8.059, r)\nx = 1 - (if a then r else q) / (1 + abs(if a then r else q))",
		"u = floor(r) + 1\nx = 1 - (if a then r else q)",
		"u = exp(r) + 1\nx = if a then r else q",
		"table t\n  k : 1, 2, 3\n  z = if prev(k) < k - 7 then exp(prev(z) / 5) else mod(r, 2) start 1.07\nx = last(t.z)",
		"u = exp(max(r, q) + ln(min(r, 2) + 3))\nx = max(r, q) * min(q, r) * u",
	} {
		s, ok := sheetOf(t, "a : no\nr : 0.313\nq : -0.78\n"+last+"\n")
		if !ok {
			t.Fatalf("%s does not check", last)
		}
		for lanes := 1; lanes <= 2; lanes++ {
			in := instance(t, s, lanes)
			if _, err := in.Run(); err != nil {
				t.Fatal(err)
			}
			judge(t, s, in, last)
		}
	}
}

// TestReadInABranch: a cell that is read first where a table is known to have
// ended is there for what follows, too.
func TestReadInABranch(t *testing.T) {
	s, ok := sheetOf(t, "k : 2\ntable run rows 5 until way > 100\n  way = prev(way) + 1 start 0\nv = run.way[k]\nw = k * 3\n")
	if !ok {
		t.Fatal("it does not check")
	}
	for form := range 3 {
		ran(t, s, form)
	}
}

// TestOverflowInside: a function, a look-up or an index gets a number that
// became too large in the same formula, where no cell has it. It is a fault,
// even if the function of an infinity is a number.
func TestOverflowInside(t *testing.T) {
	const table = "table t\n  x : 1, 2, 3\n  y : 2, 4, 7\n"
	texts := []string{
		"v = t.y[a * 10]", "v = t.y[a * 10] * 2", "v = t.y[0 - a * 10]",
		"v = lookup_clamped(a * 10, t.x, t.y)", "v = lookup_clamped(0 - a * 10, t.x, t.y) * 2", "v = lookup_monotone(a * 10, t.x, t.y)",
		"v = sin(a * 10 * 1 rad)", "v = atan2(a * 10, b) / 1 rad", "v = atan2(b, a * 10) / 1 rad",
		"v = 3 * lookup_clamped(a * 10, t.x, t.y)",
	}
	for _, row := range formulas.Intrinsics() {
		for _, name := range wasm.KernelNames(&row) {
			if row.F1 != nil {
				texts = append(texts, fmt.Sprintf("v = %s(a * 10)", row.Name), fmt.Sprintf("v = %s(0 - a * 10)", row.Name))
			} else if name != "" {
				texts = append(texts, fmt.Sprintf("v = %s(a * 10, b)", row.Name), fmt.Sprintf("v = %s(b, a * 10)", row.Name), fmt.Sprintf("v = %s(a * 10, a * 20)", row.Name))
			}
		}
	}
	checked := 0
	for _, text := range texts {
		s, ok := sheetOf(t, "a : 1e308\nb : 2\n"+table+text+"\n")
		if !ok {
			continue // a function of an angle
		}
		checked++
		for form := range 3 {
			ran(t, s, form)
		}
	}
	if checked < 30 {
		t.Errorf("%d formulas", checked)
	}
}
