package export

import (
	"bytes"
	"image/png"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
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
		"<th>pressure <small>psig</small>", "<tr><td>1<td>10<td class=txt>cold<td>-1<tr><td>2<td><td class=txt><td><span class=fault>fault</span><tr><td>4<td>12.25<td class=txt>hot<td>0.5</table>",
	},
	"parquet": { // a blank and a fault are null, which is written as -
		"given|-|fuel|-|-|methanol, race|-|-|-", "given|-|boost|-|14.5|-|psig|-|-", "computed|-|none|-|-|-|-|-|division by zero",
		"given|-|log.pressure|2|-|-|psig|-|-", "given|-|log.pressure|3|12.25|-|psig|-|-", "given|-|log.note|2|-|-|-|-|-", "given|-|log.note|3|-|hot|-|-|-",
		"computed|-|log.ratio|2|-|-|-|-|division by zero", "limit|-|boost <= 12 psig|-|-|broken|-|Too much|-",
	},
	"svg": {"Pressure from 10 psig to 12.25 psig", "Pressure, psig"},
	"png": {"\x89PNG"}, // TestEveryKindInAPicture
	"workbook": {
		"Sheet!B9 =methanol, race", "Sheet!B10 =14.5", "Sheet!C10 =psig", "Sheet!B11 =#DIV/0!", "Sheet!D11 =divides by zero. When written: division by zero",
		"Sheet!B13 =Pressure", "Sheet!B14 =psig", "Sheet!B15 =10", "Sheet!B16 =", "Sheet!B17 =12.25", "Sheet!C15 =cold", "Sheet!C16 =", "Sheet!C17 =hot",
		"Sheet!D15 =-1", "Sheet!D16 =#DIV/0!", "Sheet!D17 =0.5", "Chart data!C2 =10", "Chart data!C3 =#N/A", "Chart data!C4 =12.25",
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
			if read := wholeLines[f.Name]; read != nil {
				text = "\n" + strings.Join(read(t, b.Bytes()), "\n") + "\n"
			}
			for _, w := range want {
				if wholeLines[f.Name] != nil {
					w = "\n" + w + "\n"
				}
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

// wholeLines are readers of formats that are no texts: what must be in them is a
// whole line of what is read.
var wholeLines = map[string]func(*testing.T, []byte) []string{"workbook": shownIn, "parquet": rowsIn}

// rowsIn returns the rows of a Parquet file.
func rowsIn(t *testing.T, data []byte) []string {
	t.Helper()
	f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, group := range f.RowGroups() {
		rows := group.Rows()
		buffer := make([]parquet.Row, group.NumRows())
		if n, err := rows.ReadRows(buffer); int64(n) != group.NumRows() {
			t.Fatalf("%d rows of %d: %v", n, group.NumRows(), err)
		}
		for _, row := range buffer {
			var fields []string
			for _, v := range row {
				if v.IsNull() {
					fields = append(fields, "-")
				} else {
					fields = append(fields, v.String())
				}
			}
			out = append(out, strings.Join(fields, "|"))
		}
		_ = rows.Close()
	}
	return out
}

// TestEveryKindInOneTable writes the table alone, in the formats that can.
func TestEveryKindInOneTable(t *testing.T) {
	s := load(t, "every", everyKind)
	for name, want := range map[string]string{
		"csv":     "time,pressure psig,note,ratio\r\n1,10,cold,-1\r\n2,,,fault\r\n4,12.25,hot,0.5\r\n",
		"parquet": "1|10|cold|-1|-\n2|-|-|-|ratio: division by zero\n4|12.25|hot|0.5|-",
	} {
		f, _ := ByExtension("every." + name)
		var b bytes.Buffer
		if _, err := f.Write(&b, s.s, s.r, Options{Table: "log"}); err != nil {
			t.Fatal(err)
		}
		got := b.String()
		if name == "parquet" {
			got = strings.Join(rowsIn(t, b.Bytes()), "\n")
		}
		if got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
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
