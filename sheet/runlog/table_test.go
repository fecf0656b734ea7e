package runlog

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// texts returns the rows of a table's file.
func texts(t *testing.T, text string, wants ...string) (*Table, string) {
	t.Helper()
	table, err := ReadTable("a.csv", []byte(text), wants, 1000)
	if err != nil {
		t.Errorf("%q: %v", text, err)
		return nil, ""
	}
	var rows []string
	table.Each(func(row int, fields [][]byte) bool {
		rows = append(rows, fmt.Sprintf("%d%q", table.Line(row), fields))
		return true
	})
	return table, strings.Join(rows, " ")
}

// layouts are the same three samples, in the layouts that loggers and
// spreadsheets write.
var layouts = map[string]string{
	"commas":           "Time [s],Speed [mph]\n0.00,1.5\n0.01,2.5\n0.02,-3.25\n",
	"semicolons":       "Time;Speed\r\n0.00;1.5\r\n0.01;2.5\r\n0.02;-3.25\r\n",
	"decimal commas":   "Time;Speed\n0,00;1,5\n0,01;2,5\n0,02;-3,25\n",
	"tabs":             "Time\tSpeed\n0,00\t1,5\n0,01\t2,5\n0,02\t-3,25\n",
	"row of units":     "Time,Speed\ns,mph\n0.00,1.5\n0.01,2.5\n0.02,-3.25\n",
	"lines above":      "Logger,7\nInvented, all of it\n\nTime (s),Speed (mph)\n0.00,1.5\n0.01,2.5\n0.02,-3.25\n",
	"byte order mark":  "\xEF\xBB\xBFTime,Speed\n0.00,1.5\n0.01,2.5\n0.02,-3.25\n",
	"quotes":           "\"Time\",\"Speed\"\n\"0.00\",\"1.5\"\n\"0.01\",\"2.5\"\n\"0.02\",\"-3.25\"\n",
	"quoted decimals":  "\"Time\",\"Speed\"\n\"0,00\",\"1,5\"\n\"0,01\",\"2,5\"\n\"0,02\",\"-3,25\"\n",
	"no last line end": "Time,Speed\n0.00,1.5\n0.01,2.5\n0.02,-3.25",
	"exponents":        "Time,Speed\n0,1.5E0\n1e-2,25e-1\n2e-2,-3.25\n",
	"other columns":    "Lap,Speed,Name,Time\n1,1.5,a,0.00\n1,2.5,b,0.01\n1,-3.25,c,0.02\n",
	"latin":            "Time,Temp \xB0C,Speed\n0.00,20,1.5\n0.01,21,2.5\n0.02,22,-3.25\n",
	"blanks around":    " Time , Speed \n 0.00 , 1.5 \n 0.01 , 2.5 \n 0.02 , -3.25 \n",
	"empty lines":      "Time,Speed\n0.00,1.5\n\n0.01,2.5\n\n0.02,-3.25\n\n",
	"time of day":      "Time,Speed\n00:00:00.00,1.5\n00:00:00.01,2.5\n00:00:00.02,-3.25\n",
	"trailing commas":  "Time,Speed,\n0.00,1.5,\n0.01,2.5,\n0.02,-3.25,\n",
	"returns":          "Logger,7\r\rTime (s),Speed (mph)\r0.00,1.5\r0.01,2.5\r0.02,-3.25\r",
	"latin, returns":   "Time,Temp \xB0C,Speed\r0.00,20,1.5\r0.01,21,2.5\r0.02,22,-3.25\r",
	"many digits":      "Time,Speed\n0.00,1.50000000000000000001\n0.01,2.5\n0.02,-3.25\n",
}

// inUTF16 writes text as spreadsheets save "Unicode text".
func inUTF16(t *testing.T, text string) string {
	t.Helper()
	out, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestTablesReadAsLogs gives every layout to both readers: the numbers, the
// units of the heads and the lines are the same.
func TestTablesReadAsLogs(t *testing.T) {
	all := map[string]string{}
	for name, text := range layouts {
		all[name] = text
		if !strings.Contains(text, "\xB0") && !strings.HasPrefix(text, "\xEF") {
			all[name+", UTF-16"] = inUTF16(t, text)
		}
	}
	for name, text := range all {
		l, err := readText(text, twoWants)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := fmt.Sprint(l.Columns[0].Values, l.Columns[1].Values); got != "[0 0.01 0.02] [1.5 2.5 -3.25]" {
			t.Errorf("%s: the log is %s", name, got)
		}
		table, _ := texts(t, text, "Time", "Speed")
		if table == nil {
			continue
		}
		if a, b := fmt.Sprint(l.Layout), fmt.Sprint(table.Layout); a != b && name != "exponents" {
			t.Errorf("%s: the log is laid out %s\nthe table %s", name, a, b)
		}
		table.Each(func(row int, fields [][]byte) bool {
			for k := range l.Columns {
				v, ok := table.Layout.Number(fields[l.Columns[k].At])
				if !ok || v != l.Columns[k].Values[row] {
					t.Errorf("%s: row %d is %v in the table, %v in the log", name, row, v, l.Columns[k].Values[row])
				}
			}
			if table.Line(row) != l.Line(row) {
				t.Errorf("%s: row %d stands in line %d and %d", name, row, table.Line(row), l.Line(row))
			}
			return true
		})
	}
}

// TestTableTexts reads what only tables have: texts, quotes over lines, a head
// that is found by the columns that are requested.
func TestTableTexts(t *testing.T) {
	western, err := charmap.Windows1252.NewEncoder().String("Name;Temp °C\nÖl;84,5\n")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, text string
		wants      []string
		rows       string
		point      byte
	}{
		{"texts only", "name,kind\nwarm-up,a\nburnout,b\n", []string{"name"}, `2["warm-up" "a"] 3["burnout" "b"]`, '.'},
		{"one column", "name\nwarm-up\nburnout\n", []string{"name"}, `2["warm-up"] 3["burnout"]`, '.'},
		{"a comma in quotes", "name;note\n\"a, b\";\"x;y\"\n", []string{"note"}, `2["a, b" "x;y"]`, '.'},
		{"an inch sign", "rim,width\n17\" rim,3.5\n", []string{"rim"}, `2["17\" rim" "3.5"]`, '.'},
		{"doubled quotes", "rim\n\"17\"\" rim\"\n", []string{"rim"}, `2["17\" rim"]`, '.'},
		{"two lines in quotes", "name,n\n\"a\nb\",1\nc,2\n", []string{"n"}, `2["a\nb" "1"] 4["c" "2"]`, '.'},
		{"a word as unit", "name,m\ns,1\n", []string{"m"}, `2["s" "1"]`, '.'},
		{"a row like units", "name,kind\nm,s\nkm,h\n", []string{"name"}, `2["m" "s"] 3["km" "h"]`, '.'},
		{"first rows blank", "name,speed\nwarm-up,\nburnout,9200\n", []string{"name", "speed"}, `2["warm-up" ""] 3["burnout" "9200"]`, '.'},
		{"old Windows", western, []string{"Name"}, `2["Öl" "84,5"]`, ','},
		{"a head further down", "file;of;7\n;;\nName;x\na;1,5\n", []string{"x"}, `4["a" "1,5"]`, ','},
		{"no head that is asked for", "a;b\n1;2\n", []string{"c"}, `2["1" "2"]`, '.'},
		{"no rows", "Time,Speed\n", []string{"Time"}, "", '.'},
	} {
		table, rows := texts(t, c.text, c.wants...)
		if table != nil && (rows != c.rows || table.Layout.Point != c.point) {
			t.Errorf("%s: %s, point %q, want %s, %q", c.name, rows, table.Layout.Point, c.rows, c.point)
		}
	}
}

// TestTableMistakes: the error of an unusable file has the reason and the
// place.
func TestTableMistakes(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"", "a.csv: the file is empty"},
		{"\n \n", "a.csv: the file is empty"},
		{"a,b\n1,2\n3\n4\n", "a.csv:3: this line has one field, and the head has 2; 2 lines"},
		{"a,b\n1,2\n\"3,4\n", "a.csv:3: a quote is not closed"},
		{"PK\x03\x04\x00\x00", "a.csv: the file is not text"},
		{"a\n" + strings.Repeat("1\n", 1001), "a.csv:1002: a table can have 1000 rows"},
	} {
		_, err := ReadTable("a.csv", []byte(c.text), []string{"a"}, 1000)
		var m *Mistake
		if !errors.As(err, &m) || !strings.HasPrefix(m.Error(), c.says) {
			t.Errorf("%.20q: %v, want %s", c.text, err, c.says)
		}
	}
}

// TestHeads parts heads into name and unit, and leaves words alone that only
// look like one.
func TestHeads(t *testing.T) {
	for text, want := range map[string]string{
		"Temp [degF]": "Temp|degF", "Boost (psi)": "Boost|psi", "v/(km/h)": "v|km/h", "MAP/kPa": "MAP|kPa", "Time/s": "Time|s",
		"Engine rpm": "Engine|rpm", "Speed km/h": "Speed|km/h", "Oil °C": "Oil|°C", "Duty %": "Duty|%", "Time": "Time|",
		"A/F": "A/F|", "A/C": "A/C|", "km/h": "km/h|", "Air in": "Air in|", "Oil pressure min": "Oil pressure min|",
		"On/off": "On/off|", "Lap s": "Lap s|", "Long g": "Long g|", "Wideband lambda": "Wideband lambda|",
	} {
		if h := ReadHead(text); h.Name+"|"+h.Unit != want || h.Text != text {
			t.Errorf("%s is %+v, want %s", text, h, want)
		}
	}
}

// FuzzTable: whatever the bytes, each row has the fields of the head and its
// line, or there is a mistake.
func FuzzTable(f *testing.F) {
	for _, text := range layouts {
		f.Add([]byte(text), "Time")
	}
	f.Add([]byte("name\n\"a\nb\"\n"), "name")
	f.Fuzz(func(t *testing.T, data []byte, want string) {
		table, err := ReadTable("a.csv", data, []string{want}, 1000)
		if err != nil {
			return
		}
		rows, line := 0, 0
		table.Each(func(row int, fields [][]byte) bool {
			if row != rows || len(fields) != len(table.Layout.Heads) || table.Line(row) <= line {
				t.Fatalf("row %d of %q has %d fields and stands in line %d", row, data, len(fields), table.Line(row))
			}
			rows, line = rows+1, table.Line(row)
			for _, field := range fields {
				table.Layout.Number(field)
			}
			return true
		})
		if rows != table.Rows {
			t.Fatalf("%d rows, %d counted", rows, table.Rows)
		}
	})
}

// TestThousands: if commas separate the columns, a number such as 11,200 is
// refused unless another number of the file shows the meaning of its comma.
func TestThousands(t *testing.T) {
	for rows, doubtful := range map[string]bool{
		"1,\"11,200\"\n2,\"9,800\"\n":    true,
		"1,\"11,200\"\n2,9800\n":         true,
		"1,\"11,200\"\n2,\"9,80\"\n":     false,
		"\"0,500\",\"11,200\"\n2,9800\n": false,
	} {
		_, asTable := ReadTable("a.csv", []byte("time,speed\n"+rows), []string{"time", "speed"}, 1000)
		_, asLog := Read("a.csv", strings.NewReader("time,speed\n"+rows), 0, []Want{{"time", "time"}, {"speed", "speed"}}, nil)
		for _, err := range []error{asTable, asLog} {
			if told := err != nil && strings.Contains(err.Error(), "thousands"); told != doubtful {
				t.Errorf("%q: %v", rows, err)
			}
		}
	}
}
