package wasm

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
)

//go:generate go run ../../kernel/translate ../../kernel kernel.wat Add Sub Mul Div Pow Neg Less LessEqual Greater GreaterEqual Equal NotEqual SameText NotSameText If And Or Not AbsValue Root LowerValue HigherValue Settled SettledTwo Abs Sign Hypot Sqrt Cbrt Exp Ln Log10 Sin Cos Tan Asin Acos Atan Direction Floor Ceil Round Mod Gcd Lower Higher Reduce Index Holds Until Curve.Prepare Curve.At Curve.Fail expPlain.x2 lnPlain.x2

// opcodes are the codes of the instructions that the emitter uses.
var opcodes = map[string][]byte{
	"unreachable": {0x00}, "block": {0x02}, "loop": {0x03}, "if": {0x04}, "else": {0x05}, "end": {0x0B}, "br": {0x0C}, "br_if": {0x0D},
	"return": {0x0F}, "call": {0x10}, "drop": {0x1A}, "select": {0x1B}, "local.get": {0x20}, "local.set": {0x21}, "local.tee": {0x22},
	"i32.load": {0x28}, "f64.load": {0x2B}, "i32.store": {0x36}, "f64.store": {0x39}, "i32.const": {0x41}, "i64.const": {0x42},
	"f64.const": {0x44}, "i32.eqz": {0x45}, "i32.eq": {0x46}, "i32.ne": {0x47}, "i32.lt_s": {0x48}, "i32.gt_s": {0x4A}, "i32.le_s": {0x4C},
	"i32.ge_s": {0x4E}, "i32.lt_u": {0x49}, "i32.ge_u": {0x4F}, "i64.eq": {0x51}, "i64.ne": {0x52}, "i64.lt_u": {0x54}, "f64.eq": {0x61},
	"f64.ne": {0x62}, "f64.lt": {0x63}, "f64.gt": {0x64}, "f64.le": {0x65}, "f64.ge": {0x66}, "i32.add": {0x6A}, "i32.sub": {0x6B},
	"i32.mul": {0x6C}, "i32.div_s": {0x6D}, "i32.and": {0x71}, "i32.or": {0x72}, "i32.shl": {0x74}, "i32.shr_s": {0x75}, "i64.add": {0x7C},
	"i64.sub": {0x7D}, "i64.div_u": {0x80}, "i64.rem_u": {0x82}, "i64.and": {0x83}, "i64.or": {0x84}, "i64.xor": {0x85}, "i64.shl": {0x86},
	"i64.shr_u": {0x88}, "f64.abs": {0x99}, "f64.neg": {0x9A}, "f64.ceil": {0x9B}, "f64.floor": {0x9C}, "f64.trunc": {0x9D}, "f64.sqrt": {0x9F},
	"f64.add": {0xA0}, "f64.sub": {0xA1}, "f64.mul": {0xA2}, "f64.div": {0xA3}, "f64.max": {0xA5}, "f64.copysign": {0xA6}, "i32.wrap_i64": {0xA7},
	"i64.extend_i32_s": {0xAC}, "f64.convert_i32_s": {0xB7}, "f64.convert_i64_u": {0xBA}, "i64.reinterpret_f64": {0xBD},
	"f64.reinterpret_i64": {0xBF}, "i32.trunc_sat_f64_s": {0xFC, 2}, "i64.trunc_sat_f64_s": {0xFC, 6}, "v128.load": {0xFD, 0},
	"v128.store": {0xFD, 11}, "v128.const": {0xFD, 12}, "f64x2.splat": {0xFD, 20}, "f64x2.extract_lane": {0xFD, 33},
	"f64x2.replace_lane": {0xFD, 34}, "f64x2.eq": {0xFD, 71}, "f64x2.ne": {0xFD, 72}, "f64x2.lt": {0xFD, 73}, "f64x2.gt": {0xFD, 74},
	"f64x2.le": {0xFD, 75}, "f64x2.ge": {0xFD, 76}, "v128.not": {0xFD, 77}, "v128.and": {0xFD, 78}, "v128.andnot": {0xFD, 79},
	"v128.or": {0xFD, 80}, "v128.bitselect": {0xFD, 82}, "v128.any_true": {0xFD, 83}, "i64x2.bitmask": {0xFD, 0xC4, 1},
	"i64x2.all_true": {0xFD, 0xC3, 1}, "f64x2.abs": {0xFD, 0xEC, 1}, "f64x2.neg": {0xFD, 0xED, 1}, "f64x2.sqrt": {0xFD, 0xEF, 1},
	"f64x2.add": {0xFD, 0xF0, 1}, "f64x2.sub": {0xFD, 0xF1, 1}, "f64x2.mul": {0xFD, 0xF2, 1}, "f64x2.div": {0xFD, 0xF3, 1},
	"i64x2.add": {0xFD, 0xCE, 1}, "i64x2.shl": {0xFD, 0xCB, 1}, "i64x2.shr_u": {0xFD, 0xCD, 1}, "f64x2.pmin": {0xFD, 0xF6, 1}, "f64x2.pmax": {0xFD, 0xF7, 1},
}

// op appends one instruction and its operands, which are numbers.
func (f *function) op(name string, args ...int) {
	code, ok := opcodes[name]
	if !ok {
		panic("wasm: no instruction " + name)
	}
	f.body = append(f.body, code...)
	switch name {
	case "i32.const":
		f.body = sleb(f.body, int64(args[0]))
	case "i32.load", "i32.store":
		f.body = leb(leb(f.body, 2), args[0])
	case "f64.load", "f64.store", "v128.load", "v128.store":
		f.body = leb(leb(f.body, 3), args[0])
	case "block", "loop", "if":
		if len(args) == 0 {
			args = []int{0x40}
		}
		f.body = append(f.body, byte(args[0]))
	default:
		for _, a := range args {
			f.body = leb(f.body, a)
		}
	}
}

// number appends a constant.
func (f *function) number(v float64) {
	f.body = append(append(f.body, opcodes["f64.const"]...), floats(v)...)
}

// constant appends a constant of two lanes.
func (f *function) constant(bytes []byte) {
	f.body = append(append(f.body, opcodes["v128.const"]...), bytes...)
}

// call appends a call.
func (f *function) call(name string) {
	f.body = append(f.body, opcodes["call"]...)
	f.calls = append(f.calls, reference{len(f.body), name})
}

// local returns a new local of a type.
func (f *function) local(kind byte) int {
	f.locals = append(f.locals, kind)
	return len(f.params) + len(f.locals) - 1
}

// kernelText is the kernel in WebAssembly's text format.
//
//go:embed kernel.wat
var kernelText string

// kernelFunctions returns the kernel's functions by name.
var kernelFunctions = sync.OnceValue(func() map[string]*function {
	all := map[string]*function{}
	for _, text := range strings.Split(kernelText, "\nfunc ")[1:] {
		f := parse(text)
		all[f.name] = f
	}
	return all
})

var typeNames = map[string]byte{"i32": typeI32, "i64": typeI64, "f64": typeF64, "v128": typeV128}

// parse reads a function: four lines of name and types, then instructions.
func parse(text string) *function {
	lines := strings.SplitN(text, "\n", 5)
	f := &function{name: lines[0]}
	for i, to := range []*[]byte{&f.params, &f.results, &f.locals} {
		for _, name := range strings.Fields(lines[i+1])[1:] {
			*to = append(*to, typeNames[name])
		}
	}
	f.write(strings.TrimSuffix(strings.TrimSpace(lines[4]), "end"))
	return f
}

// asm appends instructions in the text format.
func (f *function) asm(format string, args ...any) { f.write(fmt.Sprintf(format, args...)) }

func (f *function) write(text string) {
	words := append(strings.Fields(text), "")
	for i := 0; i < len(words)-1; {
		i += f.word(words[i:])
	}
}

// word appends the instruction at the start of words and returns its number of
// words.
func (f *function) word(words []string) int {
	switch name := words[0]; name {
	case "call":
		f.call(words[1])
	case "f64.const":
		f.number(parseNumber(words[1]))
	case "f64x2.const":
		v := parseNumber(words[1])
		f.constant(floats(v, v))
	case "i64x2.const":
		v := math.Float64frombits(uint64(parseInt(words[1])))
		f.constant(floats(v, v))
	case "i64.const": // an int may have 32 bits
		f.body = sleb(append(f.body, opcodes[name]...), parseInt(words[1]))
	case "i32.const", "local.get", "local.set", "local.tee", "br", "br_if", "v128.load", "v128.store", "f64x2.extract_lane", "f64x2.replace_lane", "i32.load", "i32.store", "f64.load", "f64.store":
		f.op(name, int(parseInt(words[1])))
	case "if": // with the type of its result, if any
		if kind, ok := typeNames[words[1]]; ok {
			f.op(name, int(kind))
			return 2
		}
		f.op(name)
		return 1
	default:
		f.op(name)
		return 1
	}
	return 2
}

func parseInt(word string) int64 {
	n, err := strconv.ParseInt(word, 10, 64)
	if err != nil {
		panic("wasm: " + err.Error())
	}
	return n
}

func parseNumber(word string) float64 {
	if bits, ok := strings.CutPrefix(word, "nan:"); ok {
		payload, _ := strconv.ParseUint(bits, 0, 64)
		return math.Float64frombits(0x7FF0_0000_0000_0000 | payload)
	}
	v, err := strconv.ParseFloat(word, 64)
	if err != nil {
		panic("wasm: " + err.Error())
	}
	return v
}
