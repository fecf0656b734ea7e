package export

import (
	"bytes"
	"encoding/binary"
	"image/png"
	"math"
	"strings"
	"testing"
)

// everyKind has a text, a blank, a fault and a unit that is not SI, in cells and
// in columns, and a broken limit.
const everyKind = `title "Every kind"
fuel  : "methanol, race"
boost : 14.5 psig
none  = 1 / (boost - 14.5 psig) * 1 psid
table log
  | time | pressure psig | note   |
  | 1    | 10            | "cold" |
  | 2    |               |        |
  | 4    | 12.25         | "hot"  |
  ratio = 1 / (time - 2)
chart "Pressure" x log.time y log.pressure
limit boost <= 12 psig "Too much"
`

// inEveryKind is what each format must have of everyKind; a row of Formats
// without one here fails.
var inEveryKind = map[string][]string{
	"csv": {
		`given,,fuel,,"methanol, race",,,`, "given,,boost,,14.5,psig,,", "computed,,none,,,,,division by zero", "given,,log.pressure,2,,psig,,",
		"given,,log.note,2,,,,", "computed,,log.ratio,2,,,,division by zero", "limit,,boost <= 12 psig,,broken,,Too much,",
	},
	"json": {
		`"value": "methanol, race"`, `"value": 14.5`, `"si": 99973.98075094125`, `"fault": "division by zero"`, "10,\n            null,\n            12.25",
		`"cold",` + "\n            null,\n            " + `"hot"`,
	},
	"markdown": {"| Boost | 14.5 psig |", "| None | *division by zero* |", "| 2 |  |  | *division by zero* |", "| methanol, race |"},
	"html": {
		"<output>methanol, race</output>", "<output>14.5 psig</output>", "<output class=fault>division by zero</output>", "log.ratio[2]: division by zero",
		"<small>psig</small>",
	},
	"parquet": {"methanol, race", "psig", "division by zero", string(binary.LittleEndian.AppendUint64(nil, math.Float64bits(14.5)))},
	"svg":     {"Pressure from 10 psig to 12.25 psig", "Pressure, psig"},
	"png":     {"\x89PNG"}, // TestEveryKindInAPicture
	"workbook": {
		"methanol, race", "14.5 psig", "=14.5", "division by zero", "cold", "12.25", "psig",
	},
}

// TestEveryKindInEveryFormat writes a text, a blank, a fault and a unit that is
// not SI in every row of Formats.
func TestEveryKindInEveryFormat(t *testing.T) {
	s := load(t, "every", everyKind)
	for _, f := range Formats() {
		t.Run(f.Name, func(t *testing.T) {
			want := inEveryKind[f.Name]
			if len(want) == 0 {
				t.Fatal("the test does not say what this format has")
			}
			var b bytes.Buffer
			if _, err := f.Write(&b, s.s, s.r, Options{}); err != nil {
				t.Fatal(err)
			}
			text := b.String()
			if f.Name == "workbook" {
				text = strings.Join(shownIn(t, b.Bytes()), "\n")
			}
			for _, w := range want {
				if !strings.Contains(text, w) {
					t.Errorf("%q is not in it:\n%.3000s", w, text)
				}
			}
			for _, wrong := range []string{"NaN", "undefined", "Inf"} {
				if f.Name != "html" && strings.Contains(text, wrong) { // the page's scripts have such words
					t.Errorf("%q is in it", wrong)
				}
			}
		})
	}
}

// shownIn returns the contents of every cell of a workbook.
func shownIn(t *testing.T, data []byte) []string {
	t.Helper()
	var out []string
	g := readGrid(t, data)
	for _, tab := range g.tabs() {
		for _, ref := range g.places(tab) {
			out = append(out, tab+"!"+ref+" ="+g[tab][ref].value)
		}
	}
	return out
}

// TestEveryKindInAPicture: a blank is a gap of the line, so the picture is not
// that of a sheet with a number there.
func TestEveryKindInAPicture(t *testing.T) {
	var pictures [2][]byte
	for i, text := range []string{everyKind, strings.Replace(everyKind, "| 2    |  ", "| 2    | 11", 1)} {
		s := load(t, "every", text)
		var b bytes.Buffer
		if _, err := writePNG(&b, s.s, s.r, Options{}); err != nil {
			t.Fatal(err)
		}
		pictures[i] = bytes.Clone(b.Bytes())
		if _, err := png.Decode(&b); err != nil {
			t.Fatal(err)
		}
	}
	if bytes.Equal(pictures[0], pictures[1]) {
		t.Error("a blank is drawn as a number")
	}
}
