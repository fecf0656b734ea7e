package export

import (
	"gearleaf/sheet/check"
	"gearleaf/sheet/kernel"
)

// statistic writes a statistic of two columns with the spreadsheet functions
// for linear regression.
func (p *printer) statistic(n *check.Node, xs, ys *check.Column, form kernel.LookupForm) term {
	k := p.b.pack(xs, ys)
	ux, uy := cellUnit(xs.Unit), cellUnit(ys.Unit)
	x := p.simpleIn(p.term(n.A).in(ux.Scale, ux.Offset*ux.Scale), "where the line is read")
	t := quantity("", uy.Scale, 0).carry(x)
	t.guards = p.b.faultsFirst(t.guards, xs, ys)
	t.risky = true
	t.bind = adds
	both := k.ys + "," + k.xs
	squares := "DEVSQ(" + k.xs + ")"
	leverage := "1/" + k.n + "+(" + x.bracket(adds) + "-AVERAGE(" + k.xs + "))^2/" + squares
	switch form {
	case kernel.Slope:
		t.text, t.k = "SLOPE("+both+")", uy.Scale/ux.Scale
	case kernel.LineAt:
		t.text, t.c = "FORECAST("+x.text+","+both+")", uy.Offset*uy.Scale
	case kernel.SlopeSD:
		t.text, t.k = "STEYX("+both+")/SQRT("+squares+")", uy.Scale/ux.Scale
	case kernel.ResidualSD:
		t.text = "STEYX(" + both + ")+0/" + squares
	case kernel.MeanSD:
		t.text = "STEYX(" + both + ")*SQRT(" + leverage + ")"
	case kernel.PredictionSD:
		t.text = "STEYX(" + both + ")*SQRT(1+" + leverage + ")"
	case kernel.EffectiveFreedom:
		t.text, t.k = p.freedom(xs, ys, k), 1
	}
	if form != kernel.EffectiveFreedom {
		// Without this test the rounding of a mean would be a spread of x.
		t.text, t.bind = "IF(MAX("+p.b.entered(k.xs, xs, ys)+")=MIN("+k.xs+"),NA(),"+t.text+")", atom
	}
	return t
}

// freedom writes Welch and Satterthwaite's formula with one step per row.
func (p *printer) freedom(xs, ys *check.Column, k packed) string {
	u, v := k.refX+thisRow, k.refY+thisRow
	parts := k.t.addStep(rowStep{
		what: "fourth power over freedom",
		text: "IF(" + u + `="","",IF(` + v + ">0," + u + "^4/" + v + ",NA()))",
	})
	return "SUMSQ(" + p.b.entered(k.xs, xs, ys) + ")^2/SUM(" + k.t.stepRange(parts) + ")"
}
