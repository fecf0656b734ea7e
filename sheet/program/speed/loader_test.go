package speed

import (
	"math"
	"strconv"
	"testing"

	"gearleaf/sheet/generate"
)

// plainSheet is what a programmer would write to load and compute a large
// sheet without units, tables, messages or checks: names in a map, a tree a
// line, cells in the order of computing.
type plainSheet struct {
	at     map[string]int
	values []float64
	trees  []*plainNode
	order  []int
}

// plainNode is a number, a cell (op 'c') or an operation.
type plainNode struct {
	op   byte
	v    float64
	name string
	cell int
	args []*plainNode
}

// loadPlain reads lines `name : number` and `name = formula`.
func loadPlain(text string) *plainSheet {
	s := &plainSheet{at: map[string]int{}}
	for len(text) > 0 {
		end := 0
		for end < len(text) && text[end] != '\n' {
			end++
		}
		line := text[:end]
		text = text[min(end+1, len(text)):]
		p := &plainParser{text: line}
		name := p.word()
		switch p.sign() {
		case ':':
			s.add(name, p.number(), nil)
		case '=':
			s.add(name, 0, p.sum())
		}
	}
	s.resolve()
	return s
}

func (s *plainSheet) add(name string, v float64, tree *plainNode) {
	s.at[name] = len(s.values)
	s.values, s.trees = append(s.values, v), append(s.trees, tree)
}

// resolve finds the cells that formulas read and the order of computing.
func (s *plainSheet) resolve() {
	done := make([]bool, len(s.values))
	var visit func(cell int)
	var walk func(n *plainNode)
	walk = func(n *plainNode) {
		if n.op == 'c' {
			n.cell = s.at[n.name]
			visit(n.cell)
		}
		for _, a := range n.args {
			walk(a)
		}
	}
	visit = func(cell int) {
		if done[cell] {
			return
		}
		if done[cell] = true; s.trees[cell] != nil {
			walk(s.trees[cell])
			s.order = append(s.order, cell)
		}
	}
	for i := range s.values {
		visit(i)
	}
}

func (s *plainSheet) compute() {
	for _, cell := range s.order {
		s.values[cell] = s.eval(s.trees[cell])
	}
}

func (s *plainSheet) eval(n *plainNode) float64 {
	switch n.op {
	case '#':
		return n.v
	case 'c':
		return s.values[n.cell]
	case '?':
		if s.eval(n.args[0]) != 0 {
			return s.eval(n.args[1])
		}
		return s.eval(n.args[2])
	case 'a':
		return math.Abs(s.eval(n.args[0]))
	case 'r':
		return math.Sqrt(s.eval(n.args[0]))
	}
	a := s.eval(n.args[0])
	for _, arg := range n.args[1:] {
		b := s.eval(arg)
		switch n.op {
		case '+':
			a += b
		case '-':
			a -= b
		case '*':
			a *= b
		case '/':
			a /= b
		case '^':
			a = math.Pow(a, b)
		case '<':
			a = math.Min(a, b)
		case 'm':
			a = math.Max(a, b)
		case '>':
			if a > b {
				return 1
			}
			return 0
		}
	}
	return a
}

type plainParser struct {
	text string
	pos  int
}

func (p *plainParser) skip() {
	for p.pos < len(p.text) && p.text[p.pos] == ' ' {
		p.pos++
	}
}

func (p *plainParser) sign() byte {
	p.skip()
	if p.pos == len(p.text) {
		return 0
	}
	p.pos++
	return p.text[p.pos-1]
}

func (p *plainParser) peek() byte {
	p.skip()
	if p.pos == len(p.text) {
		return 0
	}
	return p.text[p.pos]
}

func (p *plainParser) word() string {
	p.skip()
	from := p.pos
	for p.pos < len(p.text) && (p.text[p.pos] >= 'a' && p.text[p.pos] <= 'z' || p.text[p.pos] >= '0' && p.text[p.pos] <= '9' || p.text[p.pos] == '_') {
		p.pos++
	}
	return p.text[from:p.pos]
}

func (p *plainParser) number() float64 {
	p.skip()
	from := p.pos
	for p.pos < len(p.text) && (p.text[p.pos] >= '0' && p.text[p.pos] <= '9' || p.text[p.pos] == '.') {
		p.pos++
	}
	v, _ := strconv.ParseFloat(p.text[from:p.pos], 64)
	return v
}

func (p *plainParser) sum() *plainNode {
	n := p.product()
	for c := p.peek(); c == '+' || c == '-' || c == '>'; c = p.peek() {
		p.pos++
		n = &plainNode{op: c, args: []*plainNode{n, p.product()}}
	}
	return n
}

func (p *plainParser) product() *plainNode {
	n := p.power()
	for c := p.peek(); c == '*' || c == '/'; c = p.peek() {
		p.pos++
		n = &plainNode{op: c, args: []*plainNode{n, p.power()}}
	}
	return n
}

func (p *plainParser) power() *plainNode {
	n := p.operand()
	if p.peek() == '^' {
		p.pos++
		n = &plainNode{op: '^', args: []*plainNode{n, p.operand()}}
	}
	return n
}

// plainCalls are the functions of the sheets that are measured.
var plainCalls = map[string]byte{"min": '<', "max": 'm', "abs": 'a', "sqrt": 'r'}

func (p *plainParser) operand() *plainNode {
	switch c := p.peek(); {
	case c == '(':
		p.pos++
		n := p.sum()
		p.sign()
		return n
	case c >= '0' && c <= '9':
		return &plainNode{op: '#', v: p.number()}
	}
	name := p.word()
	if name == "if" {
		n := &plainNode{op: '?'}
		for range 3 { // a condition, then one value, else the other
			n.args = append(n.args, p.sum())
			if len(n.args) < 3 {
				p.word()
			}
		}
		return n
	}
	if p.peek() != '(' {
		return &plainNode{op: 'c', name: name}
	}
	n := &plainNode{op: plainCalls[name]}
	for c := p.sign(); c == '(' || c == ','; c = p.sign() {
		n.args = append(n.args, p.sum())
	}
	return n
}

// TestPlainLoader compares the plain loader's values with the program's.
func TestPlainLoader(t *testing.T) {
	text := generate.Various(4000, 1)
	plain := loadPlain(text)
	plain.compute()
	s := load(t, text)
	mc := s.program.NewMachine()
	mc.Run()
	for i, c := range s.model.Cells {
		if got, want := mc.Cell(i), plain.values[plain.at[c.Name]]; !close(got, want) {
			t.Fatalf("%s = %v by the program, %v by the plain loader", c.Name, got, want)
		}
	}
}
