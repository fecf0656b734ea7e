package wasm_test

import (
	"fmt"
	"os"
	"testing"

	"gearleaf/sheet/generate"
	"gearleaf/sheet/program"
	"gearleaf/sheet/program/wasm"
)

func BenchmarkRun(b *testing.B) {
	pass, err := os.ReadFile("../../../templates/quarter-mile.leaf")
	if err != nil {
		b.Fatal(err)
	}
	texts := map[string]string{"gearing": generate.Gearing150(), "steps": generate.StepTable(2000), "pass": string(pass)}
	for name, text := range texts {
		s, ok := sheetOf(b, text)
		if !ok {
			b.Fatal(name)
		}
		b.Run(name+"/machine", func(b *testing.B) {
			mc := program.Compile(s.Code.Model, s.Graph, program.Options{}).NewMachine()
			for b.Loop() {
				mc.Run()
			}
		})
		for lanes := 1; lanes <= 2; lanes++ {
			b.Run(fmt.Sprint(name, "/lanes", lanes), func(b *testing.B) {
				in := instance(b, s, lanes)
				for b.Loop() {
					in.Run()
				}
			})
		}
		b.Run(name+"/emit", func(b *testing.B) {
			for b.Loop() {
				wasm.Emit(s, every, 1)
			}
		})
		b.Run(name+"/compile", func(b *testing.B) {
			m := wasm.Emit(s, every, 1)
			for b.Loop() {
				c, _ := wasm.Compile(m)
				c.Close()
			}
		})
	}
}
