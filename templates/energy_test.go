package templates_test

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"gearleaf/sheet"
)

// ledger adds powers up over the rows of a pass as the sheet adds its speeds:
// by Adams and Bashforth, started again where the sheet starts again.
type ledger struct {
	last, sum map[string]float64
}

// post adds a row of the length h, the row before it as long as before.
func (l *ledger) post(powers map[string]float64, h, before float64, anew bool) {
	for name, p := range powers {
		if !anew {
			p += h / (2 * before) * (p - l.last[name])
		}
		l.sum[name] += h * p
	}
	l.last = powers
}

// energies reads a pass row by row: what the engine does, and where it goes.
func energies(t *testing.T, r *sheet.Result) (engine float64, spent map[string]float64) {
	t.Helper()
	columns := map[string][]float64{}
	col := func(name string, row int) float64 {
		if columns[name] == nil {
			columns[name] = columnOf(t, r, "run."+name)
		}
		return columns[name][row]
	}
	g := func(name string) float64 { return value(t, r, name) }
	turn, efficiency, slip := 2*math.Pi, g("drive_efficiency"), g("tyre_slip")
	ratios := columnOf(t, r, "gears.overall")
	shaftAt := func(row int, gear float64) float64 {
		speed := col("speed", row) / (1 - slip) / (col("rollout", row) / turn) * ratios[int(gear)-1] / g("primary_ratio")
		return g("shaft_inertia") * speed * speed / 2
	}
	book := ledger{sum: map[string]float64{}}
	rows := len(columnOf(t, r, "run.time"))
	shifts := 0.0
	for i := range rows - 1 {
		v, accel, gear := col("speed", i), col("accel", i), col("gear", i)
		if i > 0 && gear > col("gear", i-1) {
			shifts += shaftAt(i, col("gear", i-1)) - shaftAt(i, gear)
		}
		drag := col("drag", i)
		grade := g("grade_force")
		carried := turn * col("torque", i) * col("locked_speed", i)
		shaft := 0.0
		if v > 0 {
			growth := g("tyre_growth") * v * v
			shaft = 2 * shaftAt(i, gear) * accel / v * (1 - growth) / (1 + growth)
		}
		book.post(map[string]float64{
			"engine": turn * col("torque_used", i) * col("engine_speed", i),
			"drag":   drag * v, "rolling": (col("resists", i) - drag - grade) * v, "grade": grade * v,
			"tyre slip": col("thrust", i) * v * slip / (1 - slip),
			"clutch":    turn * col("torque", i) * (col("engine_speed", i) - col("locked_speed", i)),
			"drive":     (1 - efficiency) * (carried - shaft),
		}, col("row_time", i), col("row_before", i), col("anew", i) == 1)
	}
	end := rows - 1
	v, front := col("speed", end), g("front_rollout")/turn
	wheel := v / (1 - slip) / (col("rollout", end) / turn)
	spent = book.sum
	engine = spent["engine"]
	delete(spent, "engine")
	spent["shifts"] = shifts
	spent["linear"] = g("mass_with_rider") * v * v / 2
	spent["turning"] = g("front_inertia")*v*v/(2*front*front) + g("rear_inertia")*wheel*wheel/2 + shaftAt(end, col("gear", end)) +
		g("engine_inertia")*turn*turn/2*(math.Pow(col("engine_speed", end), 2)-math.Pow(g("launch_speed"), 2))
	return engine, spent
}

// TestEnergyBalance accounts for the engine's work from the sheet's own rows. A
// bar's wheel rolls free: it takes load off the tyre and no energy.
func TestEnergyBalance(t *testing.T) {
	path := filepath.Join(folder(t), "quarter-mile.leaf")
	for _, settings := range twelve {
		t.Run(fmt.Sprint(settings), func(t *testing.T) {
			r := with(t, path, settings...)
			engine, spent := energies(t, r)
			sum := 0.0
			for _, joule := range spent {
				sum += joule
			}
			if !(math.Abs(engine/sum-1) <= 1e-3) {
				t.Errorf("the engine does %.1f kJ and %.1f kJ are accounted for: %v", engine/1000, sum/1000, spent)
			}
			within(t, "the sheet's own heat of the clutch, J", value(t, r, "clutch_energy"), spent["clutch"], 1e-3*engine)
			for _, name := range []string{"linear", "turning", "drag", "rolling", "tyre slip", "clutch", "drive", "shifts"} {
				if !(spent[name] > 0) {
					t.Errorf("%s takes %g J", name, spent[name])
				}
			}
		})
	}
}
