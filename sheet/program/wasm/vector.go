package wasm

import (
	"fmt"
	"math"
	"slices"

	"gearleaf/sheet/kernel"
)

// vectors are the functions of the kernel that are computed in both lanes by a
// vector, if their operands are ordinary numbers. The results are equal to the
// bit. Local 2 of a power is free.
var vectors = map[string]string{
	"Exp": within(0, kernel.LeastExponent, kernel.MostExponent) + "if v128 local.get 0 call expPlain.x2",
	"Ln":  within(0, leastOrdinary, math.MaxFloat64) + "if v128 " + logarithm,
	"Pow": logarithm + " local.get 1 f64x2.mul local.set 2 " + within(0, leastOrdinary, math.MaxFloat64) +
		within(2, -belowNearOne, belowNearOne) + "i32.and if v128 local.get 2 call expPlain.x2",
}

// leastOrdinary is the least number that is not subnormal, and belowNearOne the
// largest below kernel.NearOne.
const leastOrdinary = 0x1p-1022

var (
	belowNearOne = math.Nextafter(kernel.NearOne, 0)
	logarithm    = fmt.Sprintf("local.get 0 f64x2.const %v call lnPlain.x2", kernel.ExponentBias)
)

// within leaves whether a local is between two numbers in both lanes.
func within(local int, low, high float64) string {
	return fmt.Sprintf("local.get %d f64x2.const %v f64x2.ge local.get %d f64x2.const %v f64x2.le v128.and i64x2.all_true ", local, low, local, high)
}

// wide adds a function of the kernel for two lanes and returns its name. Without
// mayVector, and if the operands are not ordinary, it calls the one for each lane.
func (m *module) wide(name string, mayVector bool) string {
	params := len(m.kernel[name].params)
	f := &function{name: name + ".lanes", params: slices.Repeat([]byte{typeV128}, params), results: []byte{typeV128}}
	text := vectors[name]
	if text == "" || !mayVector {
		f.inLanes(name)
	} else {
		f.name = name + ".x2"
		f.local(typeV128)
		f.asm("%s else", text)
		f.inLanes(name)
		f.op("end")
	}
	m.add(f)
	return f.name
}

// inLanes calls a function of one lane with the parameters in each lane.
func (f *function) inLanes(name string) {
	for lane, join := range []string{"f64x2.splat", "f64x2.replace_lane 1"} {
		for p := range f.params {
			f.asm("local.get %d f64x2.extract_lane %d", p, lane)
		}
		f.asm("call %s %s", name, join)
	}
}

// either writes an if whose branches leave a number.
func (b *body) either(then, otherwise func()) {
	b.f.op("if", int(b.kind(typeF64)))
	b.scoped(then)
	b.f.op("else")
	b.scoped(otherwise)
	b.f.op("end")
}

// reduceWide leaves an aggregate of both lanes, which both have rows.
func (b *body) reduceWide(column int32, how kernel.Aggregate) {
	f := reducer(how)
	b.m.add(f)
	b.f.asm("i32.const %d i32.const %d call %s", b.out.Columns[column].At, b.out.Tables[b.p.Columns[column].Table].Live, f.name)
}

// reducer is the function of an aggregate of two lanes: the address of the
// column, and that of the numbers of rows. Its result is not a number in a lane
// with an entry that is not a number.
func reducer(how kernel.Aggregate) *function {
	f := &function{name: "wide." + how.String(), params: []byte{typeI32, typeI32}, results: []byte{typeV128}}
	var v, out, bad, row, rows, live int
	for _, l := range []*int{&v, &out, &bad, &row, &rows, &live} {
		*l = f.local(typeV128)
	}
	f.asm("local.get 1 i32.load 0 f64.convert_i32_s f64x2.splat local.get 1 i32.load 8 f64.convert_i32_s f64x2.replace_lane 1 local.set %d", rows)
	if how != kernel.Sum && how != kernel.Mean {
		f.asm("local.get 0 v128.load 0 local.set %d", out)
	}
	f.asm("loop local.get %d local.get %d f64x2.lt local.set %d", row, rows, live)
	f.asm("local.get 0 v128.load 0 local.tee %d local.get %d f64x2.sub local.get %d v128.and local.get %d v128.or local.set %d", v, v, live, bad, bad)
	switch how {
	case kernel.Sum, kernel.Mean:
		f.asm("local.get %d local.get %d v128.and local.get %d f64x2.add local.set %d", v, live, out, out)
	case kernel.Min, kernel.Max:
		less := map[kernel.Aggregate]string{kernel.Min: "f64x2.lt", kernel.Max: "f64x2.gt"}[how]
		f.asm("local.get %d local.get %d local.get %d local.get %d %s local.get %d v128.and v128.bitselect local.set %d", v, out, v, out, less, live, out)
	case kernel.Last:
		f.asm("local.get %d local.get %d local.get %d v128.bitselect local.set %d", v, out, live, out)
	}
	f.add(0, 16)
	f.asm("local.get %d f64x2.const 1 f64x2.add local.tee %d local.get %d f64x2.lt v128.any_true br_if 0 end", row, row, rows)
	switch how {
	case kernel.Count:
		f.asm("local.get %d local.set %d", rows, out)
	case kernel.Mean:
		f.asm("local.get %d local.get %d f64x2.div local.set %d", out, rows, out)
	}
	f.asm("local.get %d local.get %d v128.or", out, bad)
	return f
}
