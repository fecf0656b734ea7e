package export

import (
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"gearleaf/sheet/check"
)

// TestSignsAreTheLanguages: a difference keeps its sign where a verdict or a
// branch depends on it, in a program, too, that takes small differences for 0.
func TestSignsAreTheLanguages(t *testing.T) {
	text, err := os.ReadFile("testdata/signs.leaf")
	if err != nil {
		t.Fatal(err)
	}
	s := load(t, "signs", string(text))
	data, _ := s.workbook(t)
	all := formulas(readGrid(t, data))
	for _, want := range []string{"=MEDIAN(a_+b_,-d_)*2\n", `IF(MEDIAN(a_+b_,-d_)=0,"yes","no")`, `IF(left>0,"yes","no")`} {
		if !strings.Contains(all, want) {
			t.Errorf("no formula is %q in\n%s", want, all)
		}
	}
	if v := s.r.Cell(s.s.Model.Cells[6]); v.V != 0.5 {
		t.Errorf("the angle is %v turns", v.V)
	}
}

// TestTextsAreNumbersInDifferences: an argument of MEDIAN that is a cell with a text
// would be left out; in a sum it is the number that it looks like.
func TestTextsAreNumbersInDifferences(t *testing.T) {
	s := load(t, "difference", "a : 100 kg\nb : 90 kg\nfunction over(x: kg) as kg\n  = if x > 0 kg then x else 0 kg\nby = over(a - b)\nlimit by <= 5 kg\n")
	data, _ := s.workbook(t)
	all := formulas(readGrid(t, data))
	if !strings.Contains(all, "MEDIAN(0+a_,-b_)") {
		t.Errorf("no difference begins with a sum in\n%s", all)
	}
}

// slackReason is why the listed comparisons are unchanged.
const slackReason = `# LibreOffice takes the result of an addition or subtraction within 2^-48 (4e-15) of its operands for 0. Formulas keep the
# sign of a difference that is compared with 0, in products, quotients, sizes, arguments, steps and cells. Listed are the
# comparisons with 0 in templates and the library whose difference is part of a sum or of a branch. What is compared there
# is a load, a stack, a travel or a share, of givens with six digits at most: within 4e-15 of its operands it is 0 but for
# rounding, and the sheet's own verdict depends on the last bit, too. Comparisons with another number have a tolerance of
# 1e-12, 250 times as wide. The tests that change givens in LibreOffice compare every verdict.
`

// TestSlackIsListed lists the comparisons with 0 of all templates, and of the
// library's functions, in which a difference does not keep its sign in
// LibreOffice: it is part of a sum, or within a function. There the sign is that
// of a number which is nothing but rounding, in the sheet too.
func TestSlackIsListed(t *testing.T) {
	found := map[string]bool{}
	for _, s := range append(loadTemplates(t), load(t, "library", librarySheet())) {
		b := &book{m: s.s.Model, uses: map[*check.Instance]*uses{}}
		look := func(where string, id check.NodeID) {
			b.walk(id, func(n *check.Node) {
				if n.Op == check.Call {
					inst, _ := b.m.ResultOf(n)
					for i, arg := range b.m.ArgsOf(n) {
						if b.usesOf(inst).signParams[i] && b.slack(arg) {
							found[where+" in "+inst.Name] = true
						}
					}
				}
				if _, compares := comparison[n.Op]; !compares {
					return
				}
				for _, sides := range [][2]check.NodeID{{n.A, n.B}, {n.B, n.A}} {
					if b.zero(sides[1]) && b.slack(sides[0]) {
						found[where] = true
					}
				}
			})
		}
		for _, c := range b.m.Cells {
			look(s.name+" "+c.Name, c.Formula)
		}
		for _, c := range b.m.Columns {
			look(s.name+" "+c.Table.Name+"."+c.Name, c.Formula)
			look(s.name+" "+c.Table.Name+"."+c.Name, c.Start)
		}
		for _, l := range b.m.Limits {
			look(s.name+" limit "+l.Text, l.Cond)
		}
		for _, inst := range b.m.Instances {
			look("function "+inst.Name, inst.Result)
			for i, step := range inst.Steps {
				look("function "+inst.Name, step)
				if b.usesOf(inst).signSteps[i] && b.slack(step) {
					found["function "+inst.Name+" "+stepName(inst, i)] = true
				}
			}
		}
	}
	golden(t, "slack.txt", []byte(slackReason+strings.Join(slices.Sorted(maps.Keys(found)), "\n")+"\n"))
}

// slack reports whether a value that is compared with 0 has a difference whose
// sign withSign does not keep.
func (b *book) slack(id check.NodeID) bool {
	n := b.m.Node(id)
	switch n.Op {
	case check.CellRef:
		c := b.computing(b.m.Cells[n.Ref()])
		return !c.Given && b.slack(c.Formula)
	case check.ColumnRef, check.PrevRef, check.NextRef:
		c := b.m.Columns[n.Ref()]
		return !c.Given && (b.slack(c.Formula) || c.Start != 0 && b.slack(c.Start))
	case check.Sub:
		return b.differs(n.A) || b.differs(n.B)
	case check.Neg:
		return b.slack(n.A)
	case check.Mul, check.Div:
		return b.slack(n.A) || b.slack(n.B)
	case check.Intrinsic:
		if b.m.IntrinsicOf(n).Name == "abs" && n.Op == check.Intrinsic {
			return b.slack(b.m.ArgsOf(n)[0])
		}
	}
	return b.differs(id)
}

// differs reports whether a term has a difference in it, other than in what it
// calls.
func (b *book) differs(id check.NodeID) bool {
	found := false
	b.walk(id, func(n *check.Node) { found = found || n.Op == check.Sub })
	return found
}
