package wasm

import (
	"math"

	"gearleaf/sheet/kernel"
	"gearleaf/sheet/program/code"
)

// Exponentials, logarithms and powers of two lanes in one go, where both
// operands are ordinary; otherwise lane by lane. The bits are the same.

// leastOrdinary and mostOrdinary are the ends of what lnPlain takes.
const (
	leastOrdinary = 0x1p-1022
	mostOrdinary  = math.MaxFloat64
)

// belowNearOne is the largest number below kernel.NearOne.
var belowNearOne = math.Nextafter(kernel.NearOne, 0)

// ordinaryLanes leaves whether the number of a local is between two in both lanes.
func (b *body) ordinaryLanes(local int, low, high float64) {
	b.f.op("local.get", local)
	b.constant(low)
	b.f.op("f64x2.ge")
	b.f.op("local.get", local)
	b.constant(high)
	b.f.op("f64x2.le")
	b.f.op("v128.and")
	b.f.op("i64x2.all_true")
}

// power writes a power with an exponent that is made of an exponential.
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
	f.op("f64x2.mul")
	f.op("local.set", e)
	b.ordinaryLanes(base, leastOrdinary, mostOrdinary)
	b.ordinaryLanes(e, -belowNearOne, belowNearOne)
	f.op("i32.and")
	b.either(func() { f.op("local.get", e); f.call("expPlain.x2") }, func() { b.callLanes("Pow", in.A, in.B) })
}

// callWide writes the call of a function that has a form for two lanes; ok is
// false where name has none.
func (b *body) callWide(name string, r int32) (ok bool) {
	f := b.f
	x := f.local(typeV128)
	switch name {
	case "Exp":
		b.number(r)
		f.op("local.set", x)
		b.ordinaryLanes(x, kernel.LeastExponent, kernel.MostExponent)
		b.either(func() { f.op("local.get", x); f.call("expPlain.x2") }, func() { b.callLanes(name, r) })
	case "Ln":
		b.number(r)
		f.op("local.set", x)
		b.ordinaryLanes(x, leastOrdinary, mostOrdinary)
		b.either(func() { f.op("local.get", x); b.constant(kernel.ExponentBias); f.call("lnPlain.x2") }, func() { b.callLanes(name, r) })
	default:
		return false
	}
	return true
}

// either writes an if whose branches leave a number of two lanes.
func (b *body) either(then, otherwise func()) {
	b.f.op("if", typeV128)
	b.scoped(then)
	b.f.op("else")
	b.scoped(otherwise)
	b.f.op("end")
}
