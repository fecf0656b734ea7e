package export

import (
	"strings"

	"gearleaf/sheet/check"
)

// keyRow returns the row whose key is exactly x.
func (p *printer) keyRow(x term, keys *check.Column, k packed) string {
	about := "row of " + keys.Name
	switch keys.Type.Form {
	case check.Number:
		key := x.bracket(adds)
		if !x.perRow {
			return p.match(k, "IF(ABS("+k.refX+thisRow+"-"+x.bracket(multiplies)+")<="+tolerance(key, keys)+",1,0)", about)
		}
		slack := tolerance(key, keys)
		return p.firstRow(k, "ABS("+k.xs+"-"+x.bracket(multiplies)+")<="+slack, about)
	case check.Truth:
		return p.rowOf("MATCH("+word(x.text)+","+k.xs+",0)"+p.sound(k), about, x.perRow, false)
	}
	if !p.distinct(keys) {
		x = p.simple(x, called("key of "+keys.Name))
		if !x.perRow {
			return p.match(k, "IF(EXACT("+k.refX+thisRow+","+x.text+"),1,0)", about)
		}
		return p.firstRow(k, "EXACT("+k.xs+","+x.text+")", about)
	}
	x = p.simple(x, called("key of "+keys.Name))
	find := "MATCH(" + x.text + "," + k.xs + ",0)"
	row := p.rowOf("IF(EXACT("+k.t.entry(k.xs, find)+","+x.text+"),"+find+",NA())", about, x.perRow, false)
	return row + p.sound(k)
}

// firstRow returns the first row in which a test of a whole column holds.
func (p *printer) firstRow(k packed, test, about string) string {
	if k.t.single() {
		return p.rowOf("IF("+test+",1,NA())"+p.sound(k), about, true, false)
	}
	return p.rowOf("MATCH(1,IF("+test+",1,0),0)"+p.sound(k), about, true, true)
}

// sound adds a curve's own faults to a row's number.
func (p *printer) sound(k packed) string {
	if strings.Trim(k.n, "0123456789") == "" {
		return ""
	}
	return "+0*" + k.n
}

// match returns the first row in which a column of steps with this text is 1.
func (p *printer) match(k packed, test, what string) string {
	guarded := "IF(" + k.refX + thisRow + `="",0,` + test + ")"
	column := k.t.addStep(rowStep{what: what, text: guarded, bare: true})
	return p.rowOf("MATCH(1,"+k.t.stepRange(column)+",0)"+p.sound(k), what, false, false)
}

// distinct reports whether a spreadsheet's own search, which ignores case and
// reads ? and * as wildcards, finds each key.
func (p *printer) distinct(keys *check.Column) bool {
	if !keys.Given {
		return false
	}
	seen := map[string]bool{}
	for _, v := range keys.Values {
		if v != v {
			continue
		}
		s := strings.ToLower(p.m.Texts[int(v)])
		if seen[s] || strings.ContainsAny(s, "*?~") {
			return false
		}
		seen[s] = true
	}
	return true
}

// crossing returns y at the first crossing of x, from the first row on.
func (p *printer) crossing(x term, xs *check.Column, k packed) string {
	at := x.bracket(multiplies)
	slack := tolerance(x.bracket(adds), xs)
	var row string
	if x.perRow {
		row = p.crossingByRow(x, xs, k)
	} else {
		this, prior := k.refX+thisRow, k.refX+priorRow
		hit := "IF(ABS(" + this + "-" + at + ")<=" + slack + ",1,0)"
		crossed := "IF(" + prior + "<" + at + ",IF(" + this + ">=" + at + ",1,0),IF(" + this + "<" + at + ",1,0))"
		test := "IF(" + hit + "=1,1,IF(" + k.t.numbers() + thisRow + "=1,0," + crossed + "))"
		row = p.match(k, test, "row where "+xs.Name+" is met")
	}
	y := k.t.entry(k.ys, row)
	near := "ABS(" + k.t.entry(k.xs, row) + "-" + at + ")<=" + slack
	return "IF(" + near + "," + y + "," + lineThrough(x, k, row+"-1", row) + ")"
}

// crossingByRow finds the first crossing for an x that differs between rows:
// one formula over the whole column.
func (p *printer) crossingByRow(x term, xs *check.Column, k packed) string {
	at := x.bracket(multiplies)
	slack := tolerance(x.bracket(adds), xs)
	first := k.t.entry(k.xs, "1")
	met := "ABS(" + first + "-" + at + ")<=" + slack
	if k.t.t.Rows == 1 {
		return p.rowOf("IF("+met+",1,NA())"+p.sound(k), "row where "+xs.Name+" is met", true, false)
	}
	upper, lower := shrink(k, 0, -1), shrink(k, 1, 0)
	test := "IF(ISNUMBER(" + lower + "),IF(ABS(" + lower + "-" + at + ")<=" + slack +
		",1,IF((" + upper + "<" + at + ")=(" + lower + "<" + at + "),0,1)),0)"
	return p.rowOf("IF("+met+",1,1+MATCH(1,"+test+",0))"+p.sound(k), "row where "+xs.Name+" is met", true, true)
}

// shrink returns a curve's xs without some rows at either end.
func shrink(k packed, top, bottom int) string {
	mark, column := tabMark, k.refX[strings.LastIndex(k.refX, "$"):]
	tab := strings.Split(k.refX, mark)[1]
	return mark + tab + mark + column + "$" + k.t.rowText(top) + ":" + column + "$" + k.t.rowText(k.t.t.Rows-1+bottom)
}

// cubic returns the value on the monotone cubic of Fritsch and Butland; the
// slopes are in columns of steps.
func (p *printer) cubic(x term, xs, ys *check.Column, k packed) string {
	slope := p.slopes(xs, ys, k)
	row := p.interval(x, xs, k)
	about := "cubic of " + ys.Name + " over " + xs.Name
	at := k.t.entry
	next := row + "+1"
	step := func(text, what string) string { return p.rowOf(text, about+", "+what, x.perRow, false) }
	last := row + "=" + k.n
	h := step("IF("+last+",1,"+at(k.xs, next)+"-"+at(k.xs, row)+")", "width")
	d := step("IF("+last+",0,("+at(k.ys, next)+"-"+at(k.ys, row)+")/"+h+")", "rise")
	m0 := step(at(slope, row), "slope")
	m1 := step("IF("+last+",0,"+at(slope, next)+")", "slope after")
	s := step("IF("+last+",0,"+x.bracket(adds)+"-"+at(k.xs, row)+")", "way in")
	c2 := "(3*" + d + "-2*" + m0 + "-" + m1 + ")/" + h
	c3 := "(" + m0 + "-2*" + d + "+" + m1 + ")/" + h + "^2"
	return at(k.ys, row) + "+" + s + "*(" + m0 + "+" + s + "*(" + c2 + "+" + s + "*" + c3 + "))"
}

// slopes writes the cubic's slopes and returns their range: inside, the
// weighted harmonic mean of the neighbours' slopes; at the ends, a limited
// three-point formula.
func (p *printer) slopes(xs, ys *check.Column, k packed) string {
	t := k.t
	about := ys.Name + " over " + xs.Name
	row := t.numbers() + thisRow
	column := func(what, text string) string {
		inside := "IF(" + row + ">" + k.n + `,"",` + text + ")"
		return t.stepRef(t.addStep(rowStep{what: about + ", " + what, text: inside, bare: true}))
	}
	h := column("width", "IF("+row+"="+k.n+",0,"+k.refX+laterRow+"-"+k.refX+thisRow+")")
	d := column("rise", "IF("+row+"="+k.n+",0,("+k.refY+laterRow+"-"+k.refY+thisRow+")/"+h+thisRow+")")
	if t.t.Rows < 2 {
		return t.stepRange(t.addStep(rowStep{what: about + ", slope", text: "0"}))
	}
	h0, h1, d0, d1 := h+priorRow, h+thisRow, d+priorRow, d+thisRow
	inner := "IF(" + d0 + "*" + d1 + "<=0,0,3*(" + h0 + "+" + h1 + ")/((2*" + h1 + "+" + h0 + ")/" + d0 + "+(" + h1 + "+2*" + h0 + ")/" + d1 + "))"
	entry := func(column, row string) string { return t.entry(rangeOf(t, column), row) }
	first := p.b.endSlope(ys.Name, "first", entry(h, "1"), entry(h, "2"), entry(d, "1"), entry(d, "2"))
	last := p.b.endSlope(ys.Name, "last", entry(h, k.n+"-1"), entry(h, k.n+"-2"), entry(d, k.n+"-1"), entry(d, k.n+"-2"))
	// Of one row the cubic is its value; of two the straight line.
	few := func(text string) string {
		return "IF(" + k.n + "=1,0,IF(" + k.n + "=2," + entry(d, "1") + "," + text + "))"
	}
	first = p.b.labelled(few(first), stepLabel{"first slope", ys.Name})
	last = p.b.labelled(few(last), stepLabel{"last slope", ys.Name})
	text := "IF(" + row + "=1," + first + ",IF(" + row + "=" + k.n + "," + last + "," + inner + "))"
	slope := t.addStep(rowStep{what: about + ", slope", text: "IF(" + row + ">" + k.n + `,"",` + text + ")", bare: true})
	return p.b.namedSteps(t, slope, t.t.Name+"_"+ys.Name+"_slope")
}

// endSlope returns a step with the slope at an end of a cubic, from the widths
// and rises of the two intervals there: a three-point formula, limited.
func (b *book) endSlope(name, end, h0, h1, d0, d1 string) string {
	its := func(text, what string) string { return b.labelled(text, stepLabel{end + " " + what, name}) }
	h0, h1 = its(h0, "width"), its(h1, "next width")
	d0, d1 = its(d0, "rise"), its(d1, "next rise")
	s := its("((2*"+h0+"+"+h1+")*"+d0+"-"+h0+"*"+d1+")/("+h0+"+"+h1+")", "free slope")
	return its("IF(SIGN("+s+")<>SIGN("+d0+"),0,IF(SIGN("+d0+")=SIGN("+d1+"),"+s+
		",IF(ABS("+s+")>ABS(3*"+d0+"),3*"+d0+","+s+")))", "limited slope")
}

// rangeOf returns the whole of a column of steps, given a reference to it.
func rangeOf(t *tablePlan, ref string) string {
	column := ref[strings.LastIndex(ref, "$"):]
	return tabMark + t.stepsTab + "!" + tabMark + column + "$" + t.rowText(0) + ":" + column + "$" + t.rowText(t.t.Rows-1)
}
