package sheet_test

import (
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// TestShopSpellings writes values as a shop does: the first repair offers what
// is meant, and the sheet then has no error.
func TestShopSpellings(t *testing.T) {
	for text, want := range map[string]string{
		"a : 41 T":                      "a : 41 teeth",
		"a : 81.5\"":                    "a : 81.5 in",
		"a : 72 1/2 in":                 "a : 72.5 in",
		"a : 8 3/4":                     "a : 8.75",
		"a : 42 teeth choice 40 41 42":  "a : 42 teeth choice 40, 41, 42",
		"table g\n  a : 1 2 3":          "table g\n  a : 1, 2, 3",
		"table g\n  a : 2.5 1.9 1.55 m": "table g\n  a : 2.5, 1.9, 1.55 m",
		"a : 30 ft-lb":                  "a : 30 lbf.ft",
		"a : 30 in-lbs  \"Torque\"":     "a : 30 lbf.in  \"Torque\"",
		"a : 0.5 lb/hp-hr":              "a : 0.5 lb/(hp.h)",
		"a : 3 fl oz":                   "a : 3 floz",
		"a : 30 ft lbs":                 "a : 30 lbf.ft",
		"a : 30 in lb  \"Torque\"":      "a : 30 lbf.in  \"Torque\"",
		"a : 29.9 in Hg":                "a : 29.9 inHg",
		"a : 21 psi gauge range 10..30": "a : 21 psig range 10..30",
		"a : 82.5 cu in":                "a : 82.5 in3",
		"a : 0.5 lb/(hp-hr)":            "a : 0.5 lb/(hp.h)",
		"a : 0.5 lb/hp/hr":              "a : 0.5 lb/hp/h",
		"a = 2 * 0.5 lbs/(hp-hrs)":      "a = 2 * 0.5 lbs/(hp.h)",
		"a : 980 mb":                    "a : 980 mbar",
		"a : 2 amp-hr":                  "a : 2 Ah",
	} {
		_, list := sheet.FromText("shop.leaf", text+"\n")
		var fixed string
		for _, d := range list {
			if len(d.Repairs) > 0 {
				fixed = diag.Apply(text+"\n", d.Repairs[0].Edits)
				break
			}
		}
		if strings.TrimSpace(fixed) != want {
			t.Errorf("%s becomes %q, want %q: %v", text, fixed, want, list)
			continue
		}
		if _, left := sheet.FromText("shop.leaf", fixed); left.Errors() {
			t.Errorf("%s: %s", want, left[0].Message)
		}
	}
	for text, help := range map[string]string{
		"a : 9 m/s2\nb = a - 2 g":                        "standard gravity is gn",
		"baro : 29.9 inHg\nboost : 21\nx = baro + boost": "such as psig",
	} {
		_, list := sheet.FromText("shop.leaf", text+"\n")
		if len(list) != 1 || !strings.Contains(list[0].Help, help) {
			t.Errorf("%s: %v, want %q", text, list, help)
		}
	}
	for _, text := range []string{"a : 5 mJ", "a : 3 mH", "a : 2 uF", "a : 25 kV", "a : 12 ohm", "a : 4 Ah", "a : 10 nF", "a : 5 uH", "x = 30 m - 5 m", "x = 3 m -2 m"} {
		if _, list := sheet.FromText("shop.leaf", text+"\n"); list.Errors() {
			t.Errorf("%s: %s", text, list[0].Message)
		}
	}
}

// TestTabbedRows pastes cells of a spreadsheet into a worksheet: one error
// offers them as the rows of a table.
func TestTabbedRows(t *testing.T) {
	for text, want := range map[string]string{
		"table gears\n  gear\tratio\n  1\t2.6\n  2\t1.8\nx = sum(gears.ratio)": "table gears\n  | gear | ratio |\n  | 1 | 2.6 |\n  | 2 | 1.8 |\nx = sum(gears.ratio)",
		"table gears\ngear\tratio\n1\t2.6\n2\t1.8\n":                           "table gears\n  | gear | ratio |\n  | 1 | 2.6 |\n  | 2 | 1.8 |",
		"z : 1 m\r\ngear\tratio\r\n1\t2.6\r\n":                                 "z : 1 m\r\ntable pasted\n  | gear | ratio |\n  | 1 | 2.6 |",
		"1\t2.6\n2\t1.8\n\nz : 1 m":                                            "table pasted\n  | column_1 | column_2 |\n  | 1 | 2.6 |\n  | 2 | 1.8 |\n\nz : 1 m",
		"Speed [km/h]\tWhat it is\tRow\n10\tslow | \"6\"\"\t1\n\tstop\t2":      "table pasted\n  | speed km/h | what_it_is | column_3 |\n  | 10 | \"slow | \"\"6\"\"\"\"\" | 1 |\n  |  | stop | 2 |",
		"  a (mm)\ta\n  1\t-2\n":                                               "table pasted\n  | a mm | a_2 |\n  | 1 | -2 |",
	} {
		_, list := sheet.FromText("shop.leaf", text+"\n")
		var edits []diag.Edit
		for _, d := range list {
			if d.Code == diag.TableTabs && len(d.Repairs) == 1 {
				edits = d.Repairs[0].Edits
			} else if !strings.Contains(text, "sum(") {
				t.Errorf("%q: %s: %s", text, d.Code, d.Message)
			}
		}
		repairs(t, text, edits, want)
	}
	for _, text := range []string{"z\t: 1 m\t\"One\"\ny\t: 2 m\t\"Two\"", "table g\n  a\t: 1, 2\n  b\t= a"} {
		if _, list := sheet.FromText("shop.leaf", text+"\n"); list.Errors() {
			t.Errorf("%q: %s", text, list[0].Message)
		}
	}
}

// TestChoiceWithoutCommas writes choices beside each other: there is one error,
// and the value is not compared with half a list.
func TestChoiceWithoutCommas(t *testing.T) {
	for text, want := range map[string]string{
		"a : 41 teeth choice 40 41 42":                     "a : 41 teeth choice 40, 41, 42",
		"a : 41 teeth choice 40, 41 42":                    "a : 41 teeth choice 40, 41, 42",
		"a : 41 teeth choice 40 41 42  \"Rear\"":           "a : 41 teeth choice 40, 41, 42  \"Rear\"",
		"a : 41 teeth choice 40 teeth 41 teeth to 1 teeth": "a : 41 teeth choice 40 teeth, 41 teeth to 1 teeth",
		"a : 5 mm choice -5 5":                             "a : 5 mm choice -5, 5",
		"a : 41 mm choice 40, 40 1/2, 41":                  "a : 41 mm choice 40, 40.5, 41",
		"a : 1000 mm choice 999, 1 000":                    "a : 1000 mm choice 999, 1000",
	} {
		_, list := sheet.FromText("shop.leaf", text+"\n")
		if len(list) != 1 || len(list[0].Repairs) == 0 {
			t.Errorf("%s: %v", text, list)
			continue
		}
		repairs(t, text, list[0].Repairs[0].Edits, want)
	}
	_, list := sheet.FromText("shop.leaf", "a : 43 teeth choice 40 41\n")
	if len(list) != 2 || list[0].Code != diag.ChoiceRefused || list[1].Code != diag.StatementExtra {
		t.Errorf("43 among 40 41: %v", list)
	}
}

// repairs fails unless edits make want of text, and that is sound.
func repairs(t *testing.T, text string, edits []diag.Edit, want string) {
	t.Helper()
	fixed := diag.Apply(text+"\n", edits)
	if strings.TrimSpace(fixed) != want {
		t.Errorf("%q becomes\n%q, want\n%q", text, fixed, want)
	}
	if _, left := sheet.FromText("shop.leaf", fixed); left.Errors() {
		t.Errorf("%s: %s", want, left[0].Message)
	}
}
