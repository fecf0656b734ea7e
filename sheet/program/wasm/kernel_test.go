package wasm

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero"

	"gearleaf/formulas"
	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// TestKernelIsCurrent compares the kernel's text form with what its Go text says
// today.
func TestKernelIsCurrent(t *testing.T) {
	source, err := os.ReadFile("assemble.go")
	if err != nil {
		t.Fatal(err)
	}
	_, after, ok := strings.Cut(string(source), "//go:generate go run ../../kernel/translate ../../kernel kernel.wat ")
	if !ok {
		t.Fatal("no go:generate line")
	}
	line, _, _ := strings.Cut(after, "\n")
	out := t.TempDir() + "/kernel.wat"
	args := append([]string{"run", "../../kernel/translate", "../../kernel", out}, strings.Fields(line)...)
	if said, err := exec.Command("go", args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	made, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	if string(made) != kernelText {
		t.Error("kernel.wat is not what the kernel's Go text says: run `go generate ./sheet/program/wasm`")
	}
}

// TestCurveFields compares the places that the emitter writes with those of the type.
func TestCurveFields(t *testing.T) {
	curve := reflect.TypeFor[kernel.Curve]()
	for name, at := range map[string]int{"form": curveForm, "x": CurveX, "y": curveY, "state": CurveState, "turned": CurveTurned} {
		if f, ok := curve.FieldByName(name); !ok || f.Index[0]*8 != at {
			t.Errorf("%s is field %v", name, f.Index)
		}
	}
}

// inputs is how many arguments each function is compared on: the environment
// sets more for the long run.
func inputs(t *testing.T) int {
	if n, err := strconv.Atoi(os.Getenv("GEARLEAF_KERNEL_INPUTS")); err == nil {
		return n
	}
	return 8000
}

// TestKernelBits compares the kernel's functions that operations and intrinsics
// call, translated, with the Go ones, bit for bit: on numbers of all sizes, some
// near 1, whole ones, and on NaNs.
func TestKernelBits(t *testing.T) {
	one, two := map[string]func(float64) float64{}, map[string]func(a, b float64) float64{}
	for o := range code.Ops {
		row := &code.Ops[o]
		switch {
		case row.Kernel == "":
		case row.F1 != nil:
			one[row.Kernel] = row.F1
		case row.F2 != nil:
			two[row.Kernel] = row.F2
		}
	}
	for _, row := range formulas.Intrinsics() {
		switch {
		case row.Rule == kernel.Constant:
		case row.F1 != nil:
			one[KernelName(row.F1)] = row.F1
		case row.F2 != nil:
			two[KernelName(row.F2)] = row.F2
		}
	}
	a, b := arguments(inputs(t))
	for name, f := range one {
		for i, got := range mapped(t, name, 1, a, b) {
			alike(t, name, a[i], 0, got, f(a[i]))
		}
	}
	for name, f := range two {
		for i, got := range mapped(t, name, 2, a, b) {
			alike(t, name, a[i], b[i], got, f(a[i], b[i]))
		}
	}
}

// alike fails on two results that differ in a bit. A NaN of a function that is
// no runtime value may be any.
func alike(t *testing.T, name string, a, b, got, want float64) {
	t.Helper()
	if math.Float64bits(got) == math.Float64bits(want) || got != got && want != want && !kernel.IsBlank(got) && !kernel.IsBlank(want) {
		return
	}
	t.Fatalf("%s of %v, %v is %v, want %v", name, a, b, got, want)
}

func arguments(n int) (a, b []float64) {
	random := rand.New(rand.NewPCG(1, 2))
	odd := []float64{0, math.Copysign(0, -1), 1, -1, 0.5, 0.25, 2, -3, 1e-320, math.MaxFloat64, kernel.Blank, kernel.Fault, 1e12, 709.5, -740}
	value := func() float64 {
		switch random.IntN(6) {
		case 0:
			return odd[random.IntN(len(odd))]
		case 1:
			return math.Float64frombits(random.Uint64()&^(1<<62) | 1<<61) // of many sizes
		case 2:
			return float64(random.IntN(400) - 200)
		case 3:
			return 2*random.Float64() - 1
		case 4:
			return 1 + 1e-9*(2*random.Float64()-1)
		}
		return 100 * random.NormFloat64()
	}
	a, b = make([]float64, n), make([]float64, n)
	for i := range a {
		a[i], b[i] = value(), value()
		if i%7 == 0 {
			b[i] = a[i] * (1 + 1e-12*(random.Float64()-0.5)*3) // nearly equal
		}
	}
	return a, b
}

// mapped runs a kernel's function over arguments in a module of its own.
func mapped(t *testing.T, name string, arity int, a, b []float64) []float64 {
	t.Helper()
	n := len(a)
	m := &module{kernel: kernelFunctions(), index: map[string]int{}, size: 16*n + firstAddress}
	m.data = []segment{{firstAddress, floats(a...)}, {firstAddress + 8*n, floats(b...)}}
	f := &function{name: "map", exported: true}
	at := f.local(typeI32)
	f.op("loop")
	f.op("local.get", at)
	f.op("local.get", at)
	f.op("f64.load", firstAddress)
	if arity == 2 {
		f.op("local.get", at)
		f.op("f64.load", firstAddress+8*n)
	}
	f.call(name)
	f.op("f64.store", firstAddress)
	f.add(at, 8)
	f.op("local.get", at)
	f.op("i32.const", 8*n)
	f.op("i32.lt_s")
	f.op("br_if", 0)
	f.op("end")
	m.add(f)
	ctx := context.Background()
	r := wazero.NewRuntime(ctx)
	defer r.Close(ctx)
	in, err := r.Instantiate(ctx, m.encode())
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if _, err := in.ExportedFunction("map").Call(ctx); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	out := make([]float64, n)
	for i := range out {
		bits, _ := in.Memory().ReadUint64Le(uint32(firstAddress + 8*i))
		out[i] = math.Float64frombits(bits)
	}
	return out
}
