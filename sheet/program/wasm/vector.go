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

// power writes a power, as a vector if the kernel makes it of an exponential.
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

// callWide writes the call of a function that has a form for two lanes; ok is
// false where name has none.
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

// either writes an if whose branches leave a number of two lanes.
func (b *body) either(then, otherwise func()) {
	b.f.asm("if v128")
	b.scoped(then)
	b.f.op("else")
	b.scoped(otherwise)
	b.f.op("end")
}
