package check_test

import (
	"strings"
	"testing"

	"gearleaf/sheet/diag"
)

const logged = `table run rows 3
  time = row * 1 s
  speed = row * 10 mph
  engine_speed = row * 1000 rpm
boost : 20 psig
`

func TestLogs(t *testing.T) {
	m, list := sheet(t, logged+`log run
  time : from "Time" s
  speed : from "GPS" km/h
  boost : from "MAP" kPag
  lambda : from "Lambda"
`)
	if list.Errors() || len(m.Logs) != 1 {
		t.Fatalf("%d logs, %v", len(m.Logs), list)
	}
	l := m.Logs[0]
	if l.Table.Name != "run" || len(l.Channels) != 4 {
		t.Fatalf("table %v, %d channels", l.Table, len(l.Channels))
	}
	speed, boost, lambda := l.Channel("speed"), l.Channel("boost"), l.Channel("lambda")
	if speed.Column != l.Table.Columns[1] || speed.Unit.Symbol != "km/h" || speed.Head != "GPS" {
		t.Errorf("speed is %+v", speed)
	}
	if boost.Cell == nil || boost.Cell.Name != "boost" || lambda.Cell != nil || lambda.Column != nil {
		t.Errorf("boost is %+v, lambda %+v", boost, lambda)
	}
}

func TestLogMistakes(t *testing.T) {
	for _, c := range []struct {
		lines string
		code  diag.Code
		says  string
	}{
		{"log rnu\n  time : from \"Time\" s\n", diag.TableUnknown, "rnu"},
		{"log run\n  speed : from \"V\" mph\n", diag.LogForm, "column time"},
		{"log run\n  time : from \"T\" s\n  speed : 3 mph\n", diag.LogForm, "speed"},
		{"log run\n  time : from \"T\" s\n  speed = 2 * time\n", diag.LogForm, "speed"},
		{"log run\n  time : from \"T\" s\n  time : from \"U\" s\n", diag.NameDuplicate, "time"},
		{"log run\n  time : from \"T\" s\n  speed : from \"V\" rpm\n", diag.LogColumn, "speed"},
		{"log run\n  time : from \"T\" s\n  boost : from \"MAP\" kPa\n", diag.LogColumn, "boost"},
		{"log run\n  time : from \"T\" s\n  boost : from \"MAP\" psi\n", diag.UnitAmbiguous, "psi"},
	} {
		_, list := sheet(t, logged+c.lines)
		if len(list) != 1 || list[0].Code != c.code || !strings.Contains(list[0].Message, c.says) {
			t.Errorf("%q gives %v", c.lines, list)
		}
	}
}
