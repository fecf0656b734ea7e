package wasm

import (
	"math"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Exponentials, logarithms and powers of two lanes in a vector, if both
// operands are ordinary; otherwise lane by lane. The bits are the same.

// belowNearOne is the largest number below kernel.NearOne, and leastOrdinary
// the least number that is not subnormal.
var belowNearOne = math.Nextafter(kernel.NearOne, 0)

const leastOrdinary = 0x1p-1022

// between leaves whether a local is between two numbers in both lanes.
func (b *body) between(local int, low, high float64) {
	b.f.op("local.get", local)
	b.constant(low)
	b.f.asm("f64x2.ge local.get %d", local)
	b.constant(high)
	b.f.asm("f64x2.le v128.and i64x2.all_true")
}

// power emits a power, as a vector if the kernel computes it by an exponential.
func (b *body) power(in *code.Instr) {
	if !b.isConstant(in.B) || !kernel.OfExponential(b.p.Initial[in.B]) {
		b.callLanes("Pow", in.A, in.B)
		return
	}
	f := b.f
	base, e := f.local(typeV128), f.local(typeV128)
	b.number(in.A)
	f.op("local.tee", base)
	b.constant(kernel.ExponentBias)
	f.call("lnPlain.x2")
	b.number(in.B)
	f.asm("f64x2.mul local.set %d", e)
	b.between(base, leastOrdinary, math.MaxFloat64)
	b.between(e, -belowNearOne, belowNearOne)
	f.op("i32.and")
	b.either(func() { f.op("local.get", e); f.call("expPlain.x2") }, func() { b.callLanes("Pow", in.A, in.B) })
}

// callWide emits the call of a function that has a form for two lanes; ok is
// false if name has none.
func (b *body) callWide(name string, r int32) (ok bool) {
	if name != "Exp" && name != "Ln" {
		return false
	}
	f := b.f
	x := f.local(typeV128)
	b.number(r)
	f.op("local.set", x)
	wide := func() { f.op("local.get", x); f.call("expPlain.x2") }
	if name == "Exp" {
		b.between(x, kernel.LeastExponent, kernel.MostExponent)
	} else {
		b.between(x, leastOrdinary, math.MaxFloat64)
		wide = func() { f.op("local.get", x); b.constant(kernel.ExponentBias); f.call("lnPlain.x2") }
	}
	b.either(wide, func() { b.callLanes(name, r) })
	return true
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
	b.f.asm("i32.const %d i32.const %d call %s", b.columns[column], b.tables[b.p.Columns[column].Table], f.name)
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
