package formulas_test

import (
	"fmt"
	"strings"
	"testing"

	"gearleaf/sheet/check"
	"gearleaf/sheet/syntax"
)

// BenchmarkLibrary runs every function on its worked example over lanes that
// differ in the first argument that is a number; ns/call is the figure.
func BenchmarkLibrary(b *testing.B) {
	for _, f := range library(b) {
		call, ok := f.Example[0].(*syntax.Call)
		if !ok {
			b.Fatalf("the example of %s is no call", f.Name.Text)
		}
		var text strings.Builder
		args := make([]string, len(call.Args))
		for i, a := range call.Args {
			args[i] = fmt.Sprintf("argument_%d", i+1)
			fmt.Fprintf(&text, "%s : %s\n", args[i], f.tree.File.Slice(a.Pos()))
		}
		fmt.Fprintf(&text, "result = %s(%s)\n", f.Name.Text, strings.Join(args, ", "))
		b.Run(f.Name.Text, func(b *testing.B) {
			s := load(b, f.Name.Text, text.String())
			mc := s.Program.NewMachine()
			c := firstNumber(s.Model)
			if c == nil {
				b.Skip("takes no number")
			}
			mc.Run()
			factor := 1.0
			for b.Loop() {
				factor = 2.000001 - factor
				mc.SetCell(int(c.Index), c.Value*factor)
				mc.Run()
			}
		})
	}
}

// firstNumber returns the first given of m that holds a number.
func firstNumber(m *check.Model) *check.Cell {
	for _, c := range m.Cells {
		if c.Given && c.Type.Form == check.Number {
			return c
		}
	}
	return nil
}
