package check

import (
	"math"

	"gearleaf/sheet/source"
	"gearleaf/sheet/unit"
)

// The predefined types. The first means "not known", after an error or a cycle.
// Nothing is ever reported about it, so one error does not cascade.
const (
	unknownType TypeID = iota
	numberType
	truthType
	textType
)

// unitID is an index into Model.units; 0 is not a unit.
type unitID int32

// newModel returns a Model with the predefined types and units.
func newModel() *Model {
	m := &Model{
		Units:     unit.NewSystem(),
		Nodes:     make([]Node, 1, 64),
		Types:     []Type{{}, {}, {Form: Truth}, {Form: Text}},
		typeIndex: map[Type]TypeID{{}: numberType, {Form: Truth}: truthType, {Form: Text}: textType},
		units:     []unitInfo{{Unit: unit.Unit{Scale: 1}, Type: numberType}},
		unitIndex: map[string]unitID{},
		looks:     map[lookKey]*Look{},
		mostTypes: source.MaxMeasures,
	}
	m.texts = newNames(8, func(id int32) string { return m.Texts[id] })
	return m
}

// intern returns the TypeID of t.
func (m *Model) intern(t Type) TypeID {
	if t.Form != Number {
		t.Measure = unit.Measure{}
	}
	if id, ok := m.typeIndex[t]; ok {
		return id
	}
	if len(m.Types) >= m.mostTypes {
		m.tooMany = true
		return unknownType // finish reports it
	}
	id := TypeID(len(m.Types))
	m.Types = append(m.Types, t)
	m.typeIndex[t] = id
	return id
}

// mayBlank returns t, with MayBlank set if blank is.
func (m *Model) mayBlank(t TypeID, blank bool) TypeID {
	if !blank || t == unknownType || m.Types[t].MayBlank {
		return t
	}
	wide := m.Types[t]
	wide.MayBlank = true
	return m.intern(wide)
}

// present returns t without MayBlank.
func (m *Model) present(t TypeID) TypeID {
	if t == unknownType || !m.Types[t].MayBlank {
		return t
	}
	narrow := m.Types[t]
	narrow.MayBlank = false
	return m.intern(narrow)
}

// text returns the runtime value of a text.
func (m *Model) text(s string) float64 {
	if id, ok := m.texts.find(s); ok {
		return float64(id)
	}
	id := int32(len(m.Texts))
	m.Texts = append(m.Texts, s)
	m.texts.set(s, id)
	return float64(id)
}

// unitInfo is a unit with the type of the numbers that carry it.
type unitInfo struct {
	unit.Unit
	Type TypeID
}

// lookKey finds the look of a type that is shown in a unit.
type lookKey struct {
	typ   TypeID
	unit  unitID
	given bool
}

// look returns the look of a computed quantity, or of a given that is no
// number.
func (m *Model) look(t TypeID, u unitID) *Look { return m.findLook(lookKey{t, u, false}) }

// givenLook returns the look of a given number, which may have to be whole.
func (m *Model) givenLook(t TypeID, u unitID) *Look { return m.findLook(lookKey{t, u, true}) }

func (m *Model) findLook(k lookKey) *Look {
	if m.lastLook != nil && m.lastKey == k {
		return m.lastLook
	}
	l, ok := m.looks[k]
	if !ok {
		t := m.Types[k.typ]
		l = &Look{Type: t, Unit: m.units[k.unit].Unit, Whole: k.given && wholeCount(t.Measure)}
		m.looks[k] = l
	}
	m.lastKey, m.lastLook = k, l
	return l
}

// mayBlank returns l with MayBlank set to blank.
func (l *Look) mayBlank(blank bool) *Look {
	if l.Type.MayBlank == blank {
		return l
	}
	other := *l
	other.Type.MayBlank = blank
	return &other
}

func (m *Model) addUnit(text string, u unit.Unit) unitID {
	id := unitID(len(m.units))
	m.units = append(m.units, unitInfo{Unit: u, Type: m.intern(Type{Measure: u.Measure})})
	m.unitIndex[text] = id
	return id
}

// findUnit returns the unit that text names.
func (m *Model) findUnit(text string) (unitID, *unit.ParseError) {
	if id, ok := m.unitIndex[text]; ok {
		return id, nil
	}
	u, err := m.Units.Parse(text)
	if err != nil {
		return 0, err
	}
	if u.Symbol == "1" {
		u.Symbol = ""
	}
	return m.addUnit(text, u), nil
}

// preferred returns the display unit of values of t for which there is no
// suggestion.
func (m *Model) preferred(t TypeID) unitID {
	info := m.Types[t]
	if t == unknownType || info.Form != Number || (info.Measure == unit.Measure{}) {
		return 0
	}
	if id, ok := m.preferredIndex[t]; ok {
		return id
	}
	if m.preferredIndex == nil {
		m.preferredIndex = map[TypeID]unitID{}
	}
	u := m.Units.Preferred(info.Measure)
	id := unitID(len(m.units))
	m.units = append(m.units, unitInfo{Unit: u, Type: t})
	m.preferredIndex[t] = id
	return id
}

// si returns v, written in u, in SI; false when it leaves the range of
// floating point numbers.
func (m *Model) si(v float64, u unitID) (float64, bool) {
	if u != 0 {
		v = m.units[u].SI(v)
	}
	return v, !math.IsInf(v, 0)
}

// describe describes t, for messages.
func (m *Model) describe(t TypeID) string {
	switch m.Types[t].Form {
	case Truth:
		return "yes or no"
	case Text:
		return "a text"
	}
	return m.Units.Describe(m.Types[t].Measure)
}

// formName names a form, for messages.
func formName(f Form) string { return [...]string{"a number", "yes or no", "a text"}[f] }
