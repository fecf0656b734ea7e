package wasm_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gearleaf/sheet/generate"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/outside"
	"gearleaf/sheet/program/wasm"
)

// TestOutside runs modules by Node's WebAssembly and compares every byte of
// their values with what they are here.
func TestOutside(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		outside.Missing(t, "node is not installed: no module was run outside")
	}
	texts := readTemplates(t)
	for seed := range seedsOf(6) {
		texts[fmt.Sprint("seed", seed)] = generate.Worksheet(generate.Everything(3000+seed, 10+int(seed%40)))
	}
	dir := t.TempDir()
	args := []string{"testdata/run.mjs"}
	modules, native := map[string]*wasm.Module{}, map[string]*wasm.Instance{}
	for name, text := range texts {
		s, ok := sheetOf(t, text)
		if !ok {
			continue // a template that uses files
		}
		m := wasm.Emit(s, every, 1)
		modules[name], native[name] = m, instance(t, s, 1)
		if _, err := native[name].Run(); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path+".wasm", m.Code, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	if said, err := exec.Command(node, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	for name, m := range modules {
		for _, form := range []string{".run", ".care"} {
			memory, err := os.ReadFile(filepath.Join(dir, name+form))
			if err != nil {
				t.Fatal(err)
			}
			compareOutside(t, name+form, m, memory, native[name])
		}
	}
}

// compareOutside compares all values of a sheet.
func compareOutside(t *testing.T, what string, m *wasm.Module, memory []byte, in *wasm.Instance) {
	t.Helper()
	same := func(name string, at int, want float64) {
		got := math.Float64frombits(binary.LittleEndian.Uint64(memory[at:]))
		if math.Float64bits(got) != math.Float64bits(want) && !(kernel.IsFault(got) && kernel.IsFault(want)) {
			t.Errorf("%s: %s is %v outside and %v here", what, name, got, want)
		}
	}
	for i, at := range m.Cells {
		same(fmt.Sprint("cell ", i), at, in.Cell(i, 0))
	}
	for i, v := range m.Verdicts {
		value, row := in.Verdict(i, 0)
		same(fmt.Sprint("verdict ", i), v.Value, value)
		same(fmt.Sprint("row of verdict ", i), v.Row, float64(row))
	}
	for i, place := range m.Tables {
		rows, end := in.Live(i, 0)
		if got := int(binary.LittleEndian.Uint32(memory[place.Live:])); got != rows || int(binary.LittleEndian.Uint32(memory[place.End:])) != end {
			t.Errorf("%s: table %d has %d rows outside and %d here", what, i, got, rows)
		}
	}
	for i, c := range m.Columns {
		for row := range c.Rows {
			if rows, _ := in.Live(c.Table, 0); row < rows {
				same(fmt.Sprintf("column %d, row %d", i, row), c.At+8*row, in.Stored(i, row, 0))
			}
		}
	}
}
