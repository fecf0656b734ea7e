package wasm

import (
	"encoding/binary"
	"math"
	"slices"
)

// Value types, as encoded.
const (
	typeI32  = 0x7F
	typeI64  = 0x7E
	typeF64  = 0x7C
	typeV128 = 0x7B
)

// leb appends v as an unsigned LEB128 number.
func leb(b []byte, v int) []byte { return binary.AppendUvarint(b, uint64(v)) }

// sleb appends v as a signed LEB128 number.
func sleb(b []byte, v int64) []byte {
	for {
		low := byte(v & 0x7F)
		v >>= 7
		if v == 0 && low&0x40 == 0 || v == -1 && low&0x40 != 0 {
			return append(b, low)
		}
		b = append(b, low|0x80)
	}
}

// list appends the length of items, and then each.
func list(b []byte, items ...[]byte) []byte {
	b = leb(b, len(items))
	for _, it := range items {
		b = append(b, it...)
	}
	return b
}

// named is a name followed by its contents.
func named(name string, what ...byte) []byte {
	return append(append(leb(nil, len(name)), name...), what...)
}

// section appends a section of a module.
func section(b []byte, id byte, body []byte) []byte {
	return append(leb(append(b, id), len(body)), body...)
}

// module collects the functions of a module. Functions call each other by name,
// so they can be added in any order.
type module struct {
	kernel map[string]*function
	index  map[string]int
	funcs  []*function
	data   []segment
	size   int // bytes of memory in use

	compact bool
	exports []string // of the kernel's functions, to be exported too
}

func newModule() *module {
	return &module{kernel: kernelFunctions(), index: map[string]int{}, size: firstAddress}
}

// firstAddress is the start of the memory in use: an address less the size of
// an entry is valid, too.
const firstAddress = 64

// room reserves memory and returns its address.
func (m *module) room(bytes int) int {
	m.size += bytes
	return m.size - bytes
}

// set gives memory its initial contents.
func (m *module) set(at int, bytes []byte) { m.data = append(m.data, segment{at, bytes}) }

// put reserves memory for its initial contents and returns its address.
func (m *module) put(bytes []byte) int {
	at := m.room(len(bytes))
	m.set(at, bytes)
	return at
}

// segment is a part of memory that is not zero at the start.
type segment struct {
	at    int
	bytes []byte
}

// function is a function of the module.
type function struct {
	name                    string
	params, results, locals []byte
	body                    []byte
	calls                   []reference // the calls in the body
	exported                bool
}

// reference is a place in a body where the number of a function is inserted.
type reference struct {
	at   int
	name string
}

// add adds f and the kernel's functions that it calls.
func (m *module) add(f *function) {
	if _, ok := m.index[f.name]; ok {
		return
	}
	m.index[f.name] = len(m.funcs)
	m.funcs = append(m.funcs, f)
	for _, c := range f.calls {
		if k, ok := m.kernel[c.name]; ok {
			m.add(k)
		}
	}
}

// encode returns the module's bytes. The kernel's functions come first: most
// calls are theirs, and low numbers are short.
func (m *module) encode() []byte {
	other := func(f *function) bool { return m.kernel[f.name] != f }
	m.funcs = slices.Concat(slices.DeleteFunc(slices.Clone(m.funcs), other), slices.DeleteFunc(m.funcs, func(f *function) bool { return !other(f) }))
	for i, f := range m.funcs {
		m.index[f.name] = i
	}
	var types, funcs, exports, codes [][]byte
	exports = append(exports, named("memory", 2, 0))
	known := map[string]int{}
	for i, f := range m.funcs {
		t := string(leb(nil, len(f.params))) + string(f.params) + string(leb(nil, len(f.results))) + string(f.results)
		if _, ok := known[t]; !ok {
			known[t] = len(types)
			types = append(types, append([]byte{0x60}, t...))
		}
		funcs = append(funcs, leb(nil, known[t]))
		if f.exported || slices.Contains(m.exports, f.name) {
			exports = append(exports, leb(named(f.name, 0), i))
		}
		codes = append(codes, m.code(f))
	}
	var data [][]byte
	for _, s := range m.data {
		at := append(sleb([]byte{0, 0x41}, int64(s.at)), 0x0B)
		data = append(data, append(leb(at, len(s.bytes)), s.bytes...))
	}
	b := []byte{0, 'a', 's', 'm', 1, 0, 0, 0}
	b = section(b, 1, list(nil, types...))
	b = section(b, 3, list(nil, funcs...))
	b = section(b, 5, list(nil, leb([]byte{0}, m.size/pageSize+1)))
	b = section(b, 7, list(nil, exports...))
	b = section(b, 10, list(nil, codes...))
	return section(b, 11, list(nil, data...))
}

// pageSize is a page of WebAssembly's memory.
const pageSize = 1 << 16

// code is the locals and the body of a function, its calls filled in.
func (m *module) code(f *function) []byte {
	var body []byte
	from := 0
	for _, c := range f.calls {
		n, ok := m.index[c.name]
		if !ok {
			panic("wasm: no function " + c.name)
		}
		body = leb(append(body, f.body[from:c.at]...), n)
		from = c.at
	}
	body = append(body, f.body[from:]...)
	var locals [][]byte
	for i := 0; i < len(f.locals); {
		n := i
		for n < len(f.locals) && f.locals[n] == f.locals[i] {
			n++
		}
		locals = append(locals, append(leb(nil, n-i), f.locals[i]))
		i = n
	}
	out := append(append(list(nil, locals...), body...), 0x0B)
	return append(leb(nil, len(out)), out...)
}

// floats returns numbers as bytes of memory.
func floats(v ...float64) []byte {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

// words returns i32s as memory holds them.
func words(v ...int) []byte {
	var b []byte
	for _, w := range v {
		b = binary.LittleEndian.AppendUint32(b, uint32(w))
	}
	return b
}
