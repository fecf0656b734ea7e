package templates_test

import (
	"encoding/csv"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet"
	"gearleaf/sheet/passbook"
)

func init() {
	broken = append(broken, []struct{ sheet, setting, says string }{
		{"parts", "parts.before[5]=60", "A part is past its life: not another pass on it"},
		{"parts", "parts.after[2]=3", "Engines and book do not add up: a pass without an engine, or with two"},
		{"parts", "minutes_between=80min", "The engine swap does not end before the lanes"},
		{"parts", "parts.after[8]=9", "A part came on after a pass that is not in the book"},
		{"parts", "parts.before[8]=2", "A part is due within two passes: change it now"},
		{"parts", "minutes_between=100min", "Little time for what goes wrong in the swap (common practice, no source)"},

		{"season", "build_budget=22000USD", "The build costs more than there is for it"},
		{"season", "season_budget=9000USD", "The season costs more than there is for it"},
		{"season", "in_reserve=1000USD", "One broken engine ends the season: there is nothing to pay it from"},
		{"season", "build.hours[2]=50", "Builds cost a tenth more than was thought (common practice, no source): little is left for that"},
		{"season", "own_spare=yes", "The spare costs more than it saves: borrow one, or sell it"},
		{"season", "break_chance=1.8%", "A spare would cost less than it saves"},
		{"season", "break_chance=1.2%", "An engine breaks every other season: find out why before the next pass"},
	}...)
}

func TestPartsAndSeasonSigns(t *testing.T) {
	moves(t, []course{
		{"parts", "parts.life[5]=80", []string{"parts.passes_left[5]"}, []string{"used_up"}},
		{"parts", "parts.before[3]=500", []string{"parts.count[3]", "used_up"}, []string{"parts.passes_left[3]"}},
		{"parts", "carry_for=20", []string{"to_carry"}, nil},
		{"parts", "event_heats=4", []string{"book_heats", "parts.count[10]"}, []string{"parts.passes_left[10]"}},
		{"parts", "swap.done[4]=yes", nil, []string{"swap_left"}},
		{"parts", "parts.after[8]=2", []string{"oil_passes"}, []string{"next_in"}},
		{"season", "events.miles[4]=900", []string{"season_total", "travel", "pass_all_in", "spare_saves"}, []string{"season_left", "spare_pays_above"}},
		{"season", "pass_cost=55USD/pass", []string{"season_passes", "season_total"}, []string{"season_left"}},
		{"season", "events.passes[1]=12", []string{"season_passes", "breaks_expected"}, []string{"pass_all_in", "no_break_chance"}},
		{"season", "events.won[3]=900", []string{"season_income", "season_left"}, []string{"season_total"}},
		{"season", "break_chance=0.6%", []string{"breaks_expected", "season_total"}, []string{"no_break_chance"}},
		{"season", "engine_price=8000USD", []string{"breaks_expected", "season_with_one"}, nil},
		{"season", "spare_loses=30%", []string{"spare_costs", "spare_pays_above"}, nil},
		{"season", "build.paid[1]=yes", []string{"build_labour", "build_total"}, []string{"build_left"}},
		{"season", "labour_rate=80USD/h", []string{"build_total"}, nil},
	})
}

// passesOf writes a book of these lines, pass, event and seconds, and computes
// the parts on it.
func passesOf(t *testing.T, more string, settings ...string) *sheet.Result {
	t.Helper()
	folder := folder(t)
	var text strings.Builder
	text.WriteString("pass,event,full load s\n")
	for line := range strings.Lines(more) {
		text.WriteString(line)
	}
	if err := os.WriteFile(filepath.Join(folder, "passes.csv"), []byte(text.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return with(t, filepath.Join(folder, "parts.leaf"), settings...)
}

// TestPartsTraps holds where such sheets mislead.
func TestPartsTraps(t *testing.T) {
	eight := "1,1,5\n2,1,7\n3,1,7\n4,1,7\n5,2,7\n6,2,7\n7,2,6\n8,2,7\n"
	t.Run("a part that came off counts no further", func(t *testing.T) {
		was, is := passesOf(t, eight), passesOf(t, eight+"9,3,7\n10,3,7\n")
		within(t, "the engine on the shelf", value(t, is, "parts.count[1]"), value(t, was, "parts.count[1]"), 0)
		within(t, "the one in the frame", value(t, is, "parts.count[2]"), value(t, was, "parts.count[2]")+2, 0)
		within(t, "engines and book", value(t, is, "engine_passes"), value(t, is, "book_passes"), 0)
	})
	t.Run("seconds, not passes, use the turbo up", func(t *testing.T) {
		long, short := passesOf(t, eight), passesOf(t, strings.ReplaceAll(eight, ",7\n", ",1\n"))
		if a, b := value(t, long, "parts.count[3]"), value(t, short, "parts.count[3]"); !(a > b+30) {
			t.Errorf("%g s after full passes, %g s after short ones", a, b)
		}
		within(t, "passes count alike", value(t, short, "chain_passes"), value(t, long, "chain_passes"), 0)
	})
	t.Run("a warm-up is a heat and no pass", func(t *testing.T) {
		within(t, "heats of two events", value(t, passesOf(t, eight), "book_heats"), 8+2*2, 0)
		within(t, "of eight", value(t, passesOf(t, "1,1,7\n2,2,7\n3,3,7\n4,4,7\n5,5,7\n6,6,7\n7,7,7\n8,8,7\n"), "book_heats"), 8+8*2, 0)
	})
	t.Run("a pass without its seconds is told", func(t *testing.T) {
		if r := passesOf(t, strings.Replace(eight, "3,1,7", "3,1,", 1)); !r.Trouble() {
			t.Error("a blank in the book leaves the verdict green")
		}
	})
}

// TestPartsFromTheBook counts from a book that passes add wrote, with a column
// that came later, and from the same book with semicolons and decimal commas.
func TestPartsFromTheBook(t *testing.T) {
	folder := folder(t)
	book := filepath.Join(folder, "book.csv")
	seconds := []string{"4.9", "7.5", "7.4", "7.4", "7.3", "7.3", "6.1", "7.2"}
	for i, s := range seconds {
		head, values := []string{"event", "full load s"}, map[string]string{"event": strconv.Itoa(1 + i/4), "full load s": s}
		if i > 4 {
			head, values["tyre"] = append(head, "tyre"), "7"
		}
		if _, err := passbook.Add(book, head, values); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(filepath.Join(folder, "parts.leaf"))
	if err != nil {
		t.Fatal(err)
	}
	want := template(t, "parts")
	whole, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(strings.NewReader(string(whole))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var commas strings.Builder
	for _, r := range records {
		commas.WriteString(strings.ReplaceAll(strings.Join(r, ";"), ".", ",") + "\n")
	}
	for name, data := range map[string]string{"book.csv": string(whole), "commas.csv": commas.String()} {
		path := filepath.Join(folder, "from-"+name+".leaf")
		for file, data := range map[string]string{filepath.Join(folder, name): data, path: strings.Replace(string(text), "passes.csv", name, 1)} {
			if err := os.WriteFile(file, []byte(data), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		r := with(t, path)
		for _, cell := range []string{"book_seconds", "book_heats", "next_in", "used_up", "engine_passes"} {
			within(t, name+": "+cell, value(t, r, cell), value(t, want, cell), 1e-9)
		}
	}
}

// cents returns a shown amount of money in cents, refusing a fraction of one.
func cents(t *testing.T, r *sheet.Result, name string) *big.Int {
	t.Helper()
	v := shown(t, r, name) * 100
	if math.Abs(v-math.Round(v)) > 1e-6 {
		t.Errorf("%s has a part of a cent: %.6f", name, v)
	}
	return big.NewInt(int64(math.Round(v)))
}

// TestSeasonToTheCent adds up what is printed, in whole cents: every sum is that
// of its lines, and every line that of a bill.
func TestSeasonToTheCent(t *testing.T) {
	for _, settings := range [][]string{nil, {"road_price=0.8333USD/mi", "pass_cost=41.777USD/pass", "labour_rate=63.33USD/h", "night_price=117.5USD"}} {
		r := template(t, "season", settings...)
		sum := func(column string, rows int) *big.Int {
			total := new(big.Int)
			for i := range rows {
				total.Add(total, cents(t, r, column+"["+strconv.Itoa(i+1)+"]"))
			}
			return total
		}
		for name, want := range map[string]*big.Int{
			"season_events": sum("events.line", 5), "season_passes": sum("events.wear", 5), "season_fixed": sum("fixed.price", 5),
			"build_total": new(big.Int).Add(sum("build.parts", 8), sum("build.labour", 8)), "build_total ": sum("build.line", 8),
		} {
			if got := cents(t, r, strings.TrimSpace(name)); got.Cmp(want) != 0 {
				t.Errorf("%s is %s cents, its lines %s", name, got, want)
			}
		}
		total := new(big.Int)
		for _, name := range []string{"season_events", "season_passes", "breaks_expected", "season_fixed"} {
			total.Add(total, cents(t, r, name))
		}
		if total.Sub(total, cents(t, r, "season_income")); total.Cmp(cents(t, r, "season_total")) != 0 {
			t.Errorf("the season is %s cents, its sums %s", cents(t, r, "season_total"), total)
		}
		last := new(big.Int).Sub(new(big.Int).Add(sum("events.line", 5), sum("events.wear", 5)), sum("events.won", 5))
		if got := cents(t, r, "events.by_now[5]"); got.Cmp(last) != 0 {
			t.Errorf("spent by the last event is %s cents, the events %s", got, last)
		}
	}
}

// TestSeasonByHand recomputes the season with rational numbers.
func TestSeasonByHand(t *testing.T) {
	r := template(t, "season")
	rat := func(text string) *big.Rat { v, _ := new(big.Rat).SetString(text); return v }
	cent := func(v *big.Rat) *big.Rat { // a half goes up
		n := new(big.Rat).Add(new(big.Rat).Mul(v, rat("100")), rat("1/2"))
		return new(big.Rat).SetFrac(new(big.Int).Quo(n.Num(), n.Denom()), big.NewInt(100))
	}
	total := rat("185")
	for _, price := range []string{"640", "310", "900", "74"} {
		total.Add(total, rat(price))
	}
	passes := 0
	for _, e := range [][5]string{{"62", "0", "120", "6", "0"}, {"214", "2", "350", "9", "0"}, {"38", "1", "350", "10", "400"}, {"655", "4", "425", "11", "0"}, {"230", "2", "350", "9", "250"}} {
		road := cent(new(big.Rat).Mul(rat("1.84"), rat(e[0])))
		stay := cent(new(big.Rat).Mul(rat("211"), rat(e[1])))
		wear := cent(new(big.Rat).Mul(rat("41.50"), rat(e[3])))
		for _, v := range []*big.Rat{road, stay, wear, rat(e[2])} {
			total.Add(total, v)
		}
		total.Sub(total, rat(e[4]))
		n, _ := strconv.Atoi(e[3])
		passes += n
	}
	total.Sub(total, rat("600"))
	broken := cent(new(big.Rat).Mul(rat("0.004"), new(big.Rat).Mul(big.NewRat(int64(passes), 1), rat("6200"))))
	total.Add(total, broken)
	want, _ := total.Float64()
	within(t, "the season", shown(t, r, "season_total"), want, 1e-6)
	within(t, "chance of none", shown(t, r, "no_break_chance"), 100*math.Pow(0.996, float64(passes)), 1e-9)
}

// TestSeasonTraps holds where such sheets mislead.
func TestSeasonTraps(t *testing.T) {
	t.Run("chance times price is no bill", func(t *testing.T) {
		r := template(t, "season")
		within(t, "a season with one costs more by", shown(t, r, "season_with_one")-shown(t, r, "season_without"), 6200, 1e-6)
		if mean := shown(t, r, "breaks_expected"); !(mean < 6200/4) {
			t.Errorf("the mean season breaks %g USD", mean)
		}
	})
	t.Run("twice the passes are not twice the season", func(t *testing.T) {
		was := template(t, "season")
		is := template(t, "season", "events.passes[1]=12", "events.passes[2]=18", "events.passes[3]=20", "events.passes[4]=22", "events.passes[5]=18")
		within(t, "what the passes use up", value(t, is, "season_passes")/value(t, was, "season_passes"), 2, 1e-9)
		within(t, "the events", value(t, is, "season_events"), value(t, was, "season_events"), 1e-9)
		if a, b := value(t, was, "pass_all_in"), value(t, is, "pass_all_in"); !(b < 0.75*a) {
			t.Errorf("a pass goes from %g to %g USD", a, b)
		}
	})
	t.Run("a spare pays by the chance alone", func(t *testing.T) {
		at := shown(t, template(t, "season"), "spare_pays_above")
		for factor, want := range map[float64]bool{0.99: false, 1.01: true} {
			r := template(t, "season", "break_chance="+strconv.FormatFloat(at*factor, 'f', 6, 64)+"%")
			if got := says(r, "A spare would cost less than it saves"); got != want {
				t.Errorf("at %g times the chance it pays: %v", factor, got)
			}
		}
	})
}

// TestPartsAndSeasonPlugIn puts both beside the book: what wear and cost asks
// for comes from them, and the season takes the cost of a pass.
func TestPartsAndSeasonPlugIn(t *testing.T) {
	r := plugged(t, "parts", "season")
	plugs(t, r, "chain_passes", "chain_life", "tyre_passes", "oil_passes", "plug_passes", "spring_passes", "entry", "travel", "pass_cost", "engine_price")
	if r.Trouble() {
		t.Errorf("%v", r.Failures())
	}
	within(t, "the pass of the season", shown(t, r, "season_passes"), 45*shown(t, r, "pass_cost"), 0.03)
	more := plugged(t, "parts", "season", "clutch-pack", "control-gas", "electrics", "ignition", "pump-and-lines")
	if more.Trouble() {
		t.Errorf("with the rest of the shop: %v", more.Failures())
	}
}
