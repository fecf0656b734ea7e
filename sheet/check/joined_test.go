package check_test

import (
	"fmt"
	"strings"
	"testing"
)

// both is a sheet that uses two with a table gears each.
const both = "-- bike.leaf --\nuse \"chain.leaf\"\nuse \"pass.leaf\"\n"

func TestTablesOfOneName(t *testing.T) {
	for _, c := range []struct{ name, text, columns, codes string }{
		{
			"given alike, computed together",
			both +
				"-- chain.leaf --\ntable gears\n  gear : 1, 2\n  ratio : 2.5, 1.9\n  double = 2 * ratio\n" +
				"-- pass.leaf --\ntable gears\n  gear : 1, 2\n  ratio : 2.5, 1.9\n  next_one = next(ratio)\n  half = double / 4\ntop = last(gears.half)\n",
			"gear[1 2] ratio[2.5 1.9] double next_one half", "",
		},
		{
			"a new column of another sheet stands in its own unit",
			both +
				"-- chain.leaf --\ntable gears\n  gear : 1, 2\n" +
				"-- pass.leaf --\ntable gears\n  gear : 1, 2\n  shift : 9000, 9500 rpm\n",
			"gear[1 2] shift[150 158.33333333333334]", "",
		},
		{
			"not alike",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.85\n",
			"ratio[2.5 1.9]", "pass.leaf:2:16 given-conflict\n",
		},
		{
			"settled above, the column stated again",
			both + "table gears\n  ratio : 2.6, 1.95\n" +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.85\n",
			"ratio[2.6 1.95]", "",
		},
		{
			"settled above, the one row that differs",
			both + "gears.ratio[2] : 1.95\n" +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.85\n",
			"ratio[2.5 1.95]", "",
		},
		{
			"another row than the one that differs",
			both + "gears.ratio[1] : 2.6\n" +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.85\n",
			"ratio[2.6 1.9]", "pass.leaf:2:16 given-conflict\n",
		},
		{
			"stated again between bars, in another unit, with a column more",
			"-- bike.leaf --\nuse \"engine.leaf\"\ntable curve\n  | speed rpm | power kW |\n  | 6000 | 100 |\n  | 9000 | 200 |\n  more = power * 2\n" +
				"-- engine.leaf --\ntable curve\n  | speed rpm | power W |\n  | 6000 | 1 |\n  | 9000 | 2 |\n",
			"speed[100 150] power[100000 200000] more", "",
		},
		{
			"stated again with fewer values",
			both + "table gears\n  ratio : 2.6\n" +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n-- pass.leaf --\n",
			"ratio[2.6 1.9]", "bike.leaf:4:3 column-length\n",
		},
		{
			"beside it with more values",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9, 1.6\n",
			"ratio[2.5 1.9]", "pass.leaf:2:3 column-length\n",
		},
		{
			"another dimension",
			both +
				"-- chain.leaf --\ntable gears\n  mass : 1, 2 kg\n" +
				"-- pass.leaf --\ntable gears\n  mass : 1, 2 m\n",
			"mass[1 2]", "pass.leaf:2:10 dimension-mismatch\n",
		},
		{
			"the same formula twice is one column",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio*2\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n",
			"ratio[2.5 1.9] double", "",
		},
		{
			"two formulas of one column",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 3\n",
			"ratio[2.5 1.9] double", "pass.leaf:3:3 computed-twice\n",
		},
		{
			"computed first, given beside it",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double : 5, 4\n  four = double * 2\n",
			"ratio[2.5 1.9] double four", "",
		},
		{
			"given first, computed beside it",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double : 5, 4\n  four = double * 2\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n",
			"ratio[2.5 1.9] double four", "",
		},
		{
			"given twice, computed in a third",
			"-- bike.leaf --\nuse \"chain.leaf\"\nuse \"pass.leaf\"\nuse \"third.leaf\"\n" +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double : 5, 4\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double : 6, 7\n" +
				"-- third.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n",
			"ratio[2.5 1.9] double", "",
		},
		{
			"given as another measure than it is computed",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double : 5, 4 mm\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n",
			"ratio[2.5 1.9] double", "chain.leaf:3:12 dimension-mismatch\n",
		},
		{
			"values above a formula",
			"-- bike.leaf --\nuse \"chain.leaf\"\ntable gears\n  double : 5, 4\n" +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n  double = ratio * 2\n",
			"ratio[2.5 1.9] double", "bike.leaf:3:3 override-computed\n",
		},
		{
			"rows of its own",
			both +
				"-- chain.leaf --\ntable run rows 3\n  n = row\n" +
				"-- pass.leaf --\ntable run rows 4\n  m = row\n",
			"n", "pass.leaf:1:7 name-duplicate\n",
		},
		{
			"twice in one file",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  ratio : 2.5, 1.9\ntable gears\n  more : 1, 2\n",
			"ratio[2.5 1.9]", "pass.leaf:3:7 name-duplicate\n",
		},
		{
			"an error of a joined column stands in its own file",
			both +
				"-- chain.leaf --\ntable gears\n  ratio : 2.5, 1.9\n" +
				"-- pass.leaf --\ntable gears\n  wrong = ratio + 1 m\n",
			"ratio[2.5 1.9] wrong", "pass.leaf:2:11 dimension-mismatch\n",
		},
		{
			"another file's column may be overridden above it",
			both + "gears.shift[2] : 8000 rpm\n" +
				"-- chain.leaf --\ntable gears\n  gear : 1, 2\n" +
				"-- pass.leaf --\nuse \"chain.leaf\"\ntable gears\n  shift : 9000, 9600 rpm\n",
			"gear[1 2] shift[150 133.33333333333334]", "",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, list := sheets(t, c.text)
			if got := codes(list); got != c.codes {
				t.Errorf("found\n%swant\n%s", got, c.codes)
			}
			var words []string
			for _, col := range m.Tables[0].Columns {
				word := col.Name
				if col.Given {
					word += fmt.Sprint(col.Values)
				}
				words = append(words, word)
			}
			if got := strings.Join(words, " "); got != c.columns {
				t.Errorf("columns %s, want %s", got, c.columns)
			}
		})
	}
}

// TestTwoFormulasShowBoth reads the message of two formulas of one column.
func TestTwoFormulasShowBoth(t *testing.T) {
	_, list := sheets(t, both+
		"-- chain.leaf --\ntable run rows 3\n  n = prev(n) + 1 start 0\n"+
		"-- pass.leaf --\ntable run\n  n = prev(n) + 1 start 5\n")
	if len(list) != 1 || !strings.Contains(list[0].Message, "start 5") || !strings.Contains(list[0].Message, "start 0") {
		t.Errorf("%v", list)
	}
}
