package program

import (
	"flag"
	"fmt"
	"go/format"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write what tests spell anew")

// TestDashIsSpelled holds dashcases.go to what is written here.
func TestDashIsSpelled(t *testing.T) { spelled(t, "dashcases.go", spellDash()) }

func spelled(t *testing.T, file, text string) {
	t.Helper()
	want, err := format.Source([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(file, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	have, _ := os.ReadFile(file)
	if diff := cmp.Diff(string(want), string(have)); diff != "" {
		t.Errorf("%s is not what -update would write: %s", file, diff)
	}
}

// spelling is an operation as the dash has it: Go that leaves its value in v,
// with $ for its first operand.
type spelling struct {
	op   string // its opcode, without the op
	text string
	bare bool // v is a number whatever it was made of, or nothing at all was left
}

// follows reports whether the operation has a second spelling, for a first
// operand that the instruction before has just made.
func (s spelling) follows() bool { return strings.Contains(s.text, "$") }

// spellings are the operations that the dash knows.
func spellings() []spelling {
	list := []spelling{
		{op: "Move", text: "v = w[in.a]"},
		{op: "Add", text: "v = $ + w[in.b]"},
		{op: "Sub", text: "v = $ - w[in.b]"},
		{op: "Mul", text: "v = float64($ * w[in.b])"},
		{op: "Div", text: "v = $ / w[in.b]"},
		{op: "Neg", text: "v = -$"},
		{op: "Less", text: compares("x", "y", "0", "1"), bare: true},
		{op: "LessEqual", text: compares("y", "x", "1", "0"), bare: true},
		{op: "Greater", text: compares("y", "x", "0", "1"), bare: true},
		{op: "GreaterEqual", text: compares("x", "y", "1", "0"), bare: true},
		{op: "If", text: byTruth("v = w[in.b]", "v = w[in.c]")},
		{op: "And", text: byTruth("v = w[in.b]", "v = 0")},
		{op: "Or", text: byTruth("v = 1", "v = w[in.b]")},
		{op: "Not", text: "v = 1 - w[in.a]"},
		{op: "Abs", text: "v = math.Abs($)"},
		{op: "Sqrt", text: "v = math.Sqrt($)"},
		{op: "Lower", text: "t := $\nsum += t - t\n" + picks("<=", "w[in.b]")},
		{op: "Higher", text: "t := $\nsum += t - t\n" + picks(">=", "w[in.b]")},
		{op: "IfLess", text: byOrder("in.d", "in.c")},
		{op: "IfMoreEqual", text: byOrder("in.c", "in.d")},
		{op: "Look", text: looks("v", "in.c")},
		{op: "LookMul", text: "t := 0.0\n" + looks("t", "in.b") + "\nv = float64(t * w[in.c])\nw[in.d] = t"},
		{op: "Load", text: "v = d.columns[in.a].one[d.row]"},
		{op: "Row", text: "v = float64(d.row + 1)"},
	}
	for _, first := range [][2]string{{"Add", "$ + w[in.b]"}, {"Sub", "$ - w[in.b]"}, {"Mul", "float64($ * w[in.b])"}, {"Div", "$ / w[in.b]"}} {
		for _, second := range [][2]string{
			{"Add", "v = t + w[in.c]"},
			{"Sub", "v = t - w[in.c]"},
			{"From", "v = w[in.c] - t"},
			{"Mul", "v = float64(t * w[in.c])"},
			{"Div", "v = t / w[in.c]"},
			{"Into", "sum += t - t\nv = w[in.c] / t"},
			{"Lower", "sum += t - t\n" + picks("<=", "w[in.c]")},
			{"Higher", "sum += t - t\n" + picks(">=", "w[in.c]")},
		} {
			list = append(list, spelling{op: first[0] + second[0], text: "t := " + first[1] + "\n" + second[1] + "\nw[in.d] = t"})
		}
	}
	return list
}

// compares answers by x and y: what is for x at least y, other for x below.
func compares(x, y, is, other string) string {
	return fmt.Sprintf("switch x, y := $, w[in.b]; {\ncase %s >= %s:\nv = %s\ncase %s-%s < slack*(math.Abs(x)+math.Abs(y)):\nv = %s\ndefault:\nbreak rows\n}",
		x, y, is, x, y, other)
}

// byTruth does one thing or another by the truth of the first operand.
func byTruth(yes, no string) string {
	return fmt.Sprintf("switch w[in.a] {\ncase 1:\n%s\ncase 0:\n%s\ndefault:\nbreak rows\n}", yes, no)
}

// picks takes t where it is so to the other, which v is else.
func picks(so, other string) string {
	return fmt.Sprintf("if v = %s; t %s v {\nv = t\n}", other, so)
}

// looks reads a curve by its nearest line.
func looks(to, curve string) string {
	return fmt.Sprintf("switch x, c := $, near[%s]; {\ncase c.Within(x):\n%s = c.Straight(x)\ncase c.Starts(x):\n%s = c.Start()\ndefault:\nbreak rows\n}", curve, to, to)
}

// byOrder takes the register in is where the first operand is at least the
// second, the one in other where it is below.
func byOrder(is, other string) string {
	return fmt.Sprintf("by := %s\nif x, y := $, w[in.b]; !(x >= y) {\nif by = %s; !(x-y < slack*(math.Abs(x)+math.Abs(y))) {\nbreak rows\n}\n}\nv = w[by]", is, other)
}

// spellDash writes dashcases.go.
func spellDash() string {
	var after, table, cases strings.Builder
	n := 0
	write := func(name, first string, s spelling) {
		fmt.Fprintf(&cases, "case %s:\n%s\n", name, strings.ReplaceAll(s.text, "$", first))
		if !s.bare {
			cases.WriteString("sum += v - v\n")
		}
		cases.WriteString("w[in.dst] = v\ni++\nin = &code[i]\n")
	}
	for _, s := range spellings() {
		write("op"+s.op, "w[in.a]", s)
		if !s.follows() {
			continue
		}
		write("after"+s.op, "v", s)
		fmt.Fprintf(&after, "after%s", s.op)
		if n == 0 {
			after.WriteString(" opcode = shortEnd + 1 + iota")
		}
		after.WriteString("\n")
		fmt.Fprintf(&table, "op%s: after%s,\n", s.op, s.op)
		n++
	}
	return fmt.Sprintf(dashText, after.String(), table.String(), cases.String())
}

const dashText = `// Code generated by "go test ./sheet/program -run Spelled -update"; DO NOT EDIT.

package program

import "math"

// What ends rows. Behind it stand the operations whose first operand is what the
// instruction before has made.
const (
	rowEnd = opcodes + iota
	roundEnd
	shortEnd
)

const (
%s)

// after is, for operations that have one, that other opcode.
var after = [opcodes]opcode{
%s}

// run goes on with the row under way, from instruction i on, and from row to
// row, until it comes to something that is not done in a few machine
// instructions, or to the end of the table. It returns where it is. Only where
// d.sum is 0 then, all that it made of the row is right.
func (d *dash) run(code *dashCode, i uint8) uint8 {
	w, near := &d.w, d.near
	in, v, sum := &code[i], w[code[i-1].dst], 0.0
rows:
	for {
		switch in.op {
%s		case rowEnd:
			if sum != 0 {
				break rows
			}
			if d.row++; d.row == d.size || w[in.b] != 0 {
				break rows
			}
			i = in.next
			in = &code[i]
		case roundEnd:
			if sum != 0 {
				break rows
			}
			if d.row++; d.row == d.size || w[in.b] != 0 || !d.moved {
				break rows
			}
			from := in.a
			for _, c := range d.rows {
				c := (*[round]float64)(c[d.row-round:])
				at := from
				c[0] = w[at]
				at += in.c
				c[1] = w[at]
				at += in.c
				c[2] = w[at]
				c[3] = w[at+in.c]
				from++
			}
			d.stored = d.row
			i = in.next
			in = &code[i]
		case shortEnd:
			if sum != 0 {
				break rows
			}
			if d.row++; d.row == d.size || w[in.b] != 0 || !d.moved {
				break rows
			}
			from := in.a
			for _, c := range d.rows {
				c := (*[shortRound]float64)(c[d.row-shortRound:])
				c[0] = w[from]
				c[1] = w[from+in.c]
				from++
			}
			d.stored = d.row
			i = in.next
			in = &code[i]
		default:
			break rows
		}
	}
	d.sum = sum
	return i
}
`
