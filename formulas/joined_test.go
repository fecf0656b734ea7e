package formulas_test

import (
	"math"
	"testing"
)

// same fails where two cells of a drawn sheet differ by more than a share of
// the second in any lane.
func same(t *testing.T, d drawn, name, other string, within float64) {
	t.Helper()
	for lane := range lanes {
		a, b := d.at(t, name, lane), d.at(t, other, lane)
		if !(math.Abs(a-b) <= within*math.Abs(b)) {
			t.Errorf("%s is %.12g and %s %.12g (lane %d)", name, a, other, b, lane)
			return
		}
	}
}

// holds fails where a condition of a drawn sheet is no in any lane.
func holds(t *testing.T, d drawn, names ...string) {
	t.Helper()
	for _, name := range names {
		for lane := range lanes {
			if d.at(t, name, lane) != 1 {
				t.Errorf("%s does not hold (lane %d)", name, lane)
				break
			}
		}
	}
}

// TestEvaporationBalances: the charge that comes out is as cold as the share
// that evaporated makes it, and holds exactly that share as vapour where it is
// not all of it.
func TestEvaporationBalances(t *testing.T) {
	for _, fuel := range []struct {
		name      string
		low, high float64
	}{{"methanol", -10, 220}, {"ethanol", -5, 200}, {"isooctane", 0, 200}, {"toluene", 0, 200}} {
		givens := []given{{"before", "degC", fuel.low, fuel.high, false}, {"manifold", "kPa", 70, 450, false}, {"afr", "1", 3.5, 16, false}}
		d := draw(t, givens, `
after = charge_after_evaporation(before, manifold, afr, "`+fuel.name+`")
share = evaporated_share(before, manifold, afr, "`+fuel.name+`")
line  = saturation_line("`+fuel.name+`", after)
most  = if line >= manifold then 1 else min(1, afr * fuel_molar_mass("`+fuel.name+`") / (28.965 g/mol) * line / plain(manifold - line))
held  = if share < 0.999999999 then most else share
dry   = before - evaporation_cooling(afr, heat_of_vaporisation("`+fuel.name+`"), share * 100 %)
below = share <= most * (1 + 1e-9) and 0 < share <= 1
`)
		same(t, d, "share", "held", 1e-9)
		same(t, d, "after", "dry", 1e-11)
		holds(t, d, "below")
	}
}

// TestOxygenSigns: which way the charge's oxygen and the power on it move.
func TestOxygenSigns(t *testing.T) {
	d := draw(t, []given{
		{"manifold", "kPa", 90, 400, false},
		{"heat", "degC", 0, 120, false},
		{"afr", "1", 4, 15, false},
		{"share", "%", 0, 90, false},
		{"water", "gr/lb", 0, 150, false},
		{"power", "hp", 100, 800, false},
		{"lost", "hp", 0, 90, false},
	}, `
here    = charge_oxygen(manifold, heat, afr, share, 32.042 g/mol, water)
denser  = charge_oxygen(manifold + 1 kPad, heat, afr, share, 32.042 g/mol, water) > here
warmer  = charge_oxygen(manifold, heat + 2 deltaC, afr, share, 32.042 g/mol, water) < here
damper  = charge_oxygen(manifold, heat, afr, share, 32.042 g/mol, water + 5 gr/lb) < here
wetter  = charge_oxygen(manifold, heat, afr, share + 5 %, 32.042 g/mol, water) < here
dry     = charge_oxygen(manifold, heat, afr, 0 %, 32.042 g/mol, 0 gr/lb)
of_air  = charge_density(manifold, heat, afr, 0 %, 32.042 g/mol) * 0.2095 * 31.998 / 28.965
stays   = power_by_oxygen(power, lost, 1)
asked   = oxygen_ratio_for_power(power_by_oxygen(power, lost, 1.1), power, lost)
given   = 1.1 + 0 * asked
more    = power_by_oxygen(power, lost, 1.05) > power * 1.05 - 0.000001 hp
less    = power_by_oxygen(power, lost, 0.95) < power * 0.95 + 0.000001 hp
`)
	holds(t, d, "denser", "warmer", "damper", "wetter", "more", "less")
	same(t, d, "dry", "of_air", 1e-12)
	same(t, d, "stays", "power", 1e-12)
	same(t, d, "asked", "given", 1e-12)
}

// TestBurntGasHasItsAtoms: carbon, hydrogen and oxygen come out as they went
// in, rich and lean alike, and heat capacity moves without a step at lambda 1.
func TestBurntGasHasItsAtoms(t *testing.T) {
	for _, fuel := range []string{"methanol", "ethanol", "gasoline", "nitromethane"} {
		d := draw(t, []given{{"lambda", "1", 0.55, 1.4, false}, {"heat", "degC", 100, 1300, false}}, `
fuel   : "`+fuel+`"
carbon = pick(fuel, fuels.name, fuels.carbon)
half   = pick(fuel, fuels.name, fuels.hydrogen) / 2
brings = pick(fuel, fuels.name, fuels.oxygen) + 2 * lambda * oxygen_need(carbon, 2 * half, pick(fuel, fuels.name, fuels.oxygen))
whole  = burnt_carbon_dioxide(fuel, lambda)
wet    = burnt_water(fuel, lambda)
leaves = carbon + whole + wet + 2 * oxygen_need(carbon, 2 * half, pick(fuel, fuels.name, fuels.oxygen)) * max(0, lambda - 1)
sound  = 0 <= whole <= carbon * (1 + 1e-12) and 0 <= wet <= half * (1 + 1e-12)
ratio  = burnt_gas_heat_ratio(fuel, lambda, heat)
by_mass = burnt_gas_heat_capacity(fuel, lambda, heat) * burnt_gas_molar_mass(fuel, lambda) * (1 - 1 / ratio)
constant = 8.314462618 J/(mol.K) + 0 * ratio * (1 J/(mol.K))
believed = 1.2 < ratio < 1.4
`)
		same(t, d, "leaves", "brings", 1e-12)
		same(t, d, "by_mass", "constant", 1e-9)
		holds(t, d, "sound", "believed")
		step := draw(t, []given{{"heat", "degC", 100, 1300, false}}, `
rich = burnt_gas_heat_capacity("`+fuel+`", 0.9999999, heat)
lean = burnt_gas_heat_capacity("`+fuel+`", 1.0000001, heat)
`)
		same(t, step, "rich", "lean", 1e-6)
	}
}

// TestTurbineOnGas: the pair undoes itself, and on the round figures of
// kerosene gas it is turbine_power.
func TestTurbineOnGas(t *testing.T) {
	d := draw(t, []given{
		{"flow", "lb/min", 10, 90, false},
		{"heat", "degC", 500, 950, false},
		{"ratio", "1", 1.1, 4, false},
		{"efficiency", "%", 50, 80, false},
		{"takes", "J/(kg.K)", 1100, 1500, false},
		{"heats", "1", 1.26, 1.35, false},
	}, `
back    = expansion_ratio_of_gas(turbine_power_of_gas(flow, heat, ratio, efficiency, takes, heats), flow, heat, efficiency, takes, heats)
round   = turbine_power_of_gas(flow, heat, ratio, efficiency, 1148 J/(kg.K), 4 / 3)
by_rule = turbine_power(flow, heat, ratio, efficiency)
`)
	same(t, d, "back", "ratio", 1e-9)
	same(t, d, "round", "by_rule", 1e-12)
}

// TestStartLimitsBalance puts the limits back into the moments that they come
// from, and takes drag, lift, inertia and bar away one by one.
func TestStartLimitsBalance(t *testing.T) {
	d := draw(t, []given{
		{"mass", "lb", 400, 1100, false},
		{"base", "mm", 1300, 2000, false},
		{"share", "%", 35, 60, false},
		{"height", "mm", 380, 700, false},
		{"drag", "lbf", 0, 400, false},
		{"drag_height", "mm", 400, 800, false},
		{"lift", "lbf", 0, 40, false},
		{"turning", "kg.m2", 0, 3, false},
		{"rollout", "mm", 1800, 2200, false},
		{"bar", "mm", 800, 1500, false},
		{"friction", "1", 0.3, 3, false},
		{"wheel", "lb", 0, 20, false},
		{"slope", "%", -1, 1, false},
	}, `
ahead   = share * base
weight  = mass * 9.80665 m/s2
inertia = turning / (rollout / (2 * pi))
whole   = mass + wheel
climbs  = weight * slope
resists = drag + climbs
by_air  = drag * drag_height + climbs * height
rear_m  = by_air + lift * base

limit   = front_wheel_limit(ahead, height, mass, inertia, rear_m)
up      = mass * limit * height + inertia * limit + rear_m
down    = weight * ahead
bare    = front_wheel_limit(ahead, height, mass, 0 kg.m, 0 lbf.ft)
rule    = wheelie_limit(ahead, height)
dragged = front_wheel_limit(ahead, height, mass, 0 kg.m, drag * drag_height)
by_drag = wheelie_limit_with_drag(ahead, height, drag, drag_height, mass)
heavy   = front_wheel_limit(ahead, height, mass, inertia, 0 lbf.ft)
by_mass = wheelie_limit_with_inertia(ahead, height, mass, turning, rollout)

grip    = min(friction, 0.9 * base / (height + inertia / mass))
a       = grip_limit(grip, base, ahead, height, mass, whole, inertia, resists, by_air)
rear    = (weight * (base - ahead) + mass * a * height + inertia * a + by_air) / base
thrust  = whole * a + resists
carried = grip * rear
still   = grip_limit(grip, base, ahead, height, mass, mass, 0 kg.m, 0 lbf, 0 lbf.ft)
level   = if still < rule then traction_limit(grip, base, ahead, height) else still

b       = bar_grip_limit(friction, bar, ahead, height, mass, whole, inertia, resists, rear_m, lift)
on_bar  = (mass * b * height + inertia * b + rear_m - weight * ahead) / bar
pushes  = whole * b + resists
presses = friction * (weight - lift - on_bar)
loaded  = wheelie_bar_load(mass, ahead, height, rule * 1.2, bar)
lifts   = loaded > 0 lbf
held    = front_wheel_limit(ahead, height, mass, 0 kg.m, 0 lbf.ft - loaded * bar)
beyond  = rule * 1.2
`)
	for _, pair := range [][2]string{
		{"up", "down"},
		{"bare", "rule"},
		{"dragged", "by_drag"},
		{"heavy", "by_mass"},
		{"thrust", "carried"},
		{"still", "level"},
		{"pushes", "presses"},
		{"held", "beyond"},
	} {
		same(t, d, pair[0], pair[1], 1e-9)
	}
	holds(t, d, "lifts")
}

// TestFillingByExhaust: alike exhaust and manifold change nothing, more back
// pressure fills less.
func TestFillingByExhaust(t *testing.T) {
	d := draw(t, []given{{"manifold", "kPa", 100, 400, false}, {"back", "1", 0.5, 2, false}, {"squeeze", "1", 8, 14, false}, {"heats", "1", 1.25, 1.4, false}}, `
alike = filling_by_exhaust(manifold, manifold, squeeze, heats)
one   = 1 + 0 * squeeze
fills = filling_by_exhaust(manifold * back, manifold, squeeze, heats) > filling_by_exhaust(manifold * (back + 0.05), manifold, squeeze, heats)
`)
	same(t, d, "alike", "one", 1e-12)
	holds(t, d, "fills")
}

// TestClutchSides: a locked clutch speeds both sides up alike, arms weigh what
// their clamp says, and a slipping clutch drives the slower side.
func TestClutchSides(t *testing.T) {
	d := draw(t, []given{
		{"engine", "lbf.ft", 50, 500, false},
		{"crank", "kg.m2", 0.02, 0.2, false},
		{"load", "lbf.ft", 0, 100, false},
		{"mass", "lb", 400, 1100, false},
		{"ratio", "1", 3, 12, false},
		{"rollout", "mm", 1800, 2200, false},
		{"springs", "lbf", 100, 900, false},
		{"more", "lbf", 0, 900, false},
		{"radius", "mm", 30, 90, false},
		{"lever", "1", 0.3, 3, false},
		{"speed", "rpm", 2000, 9000, false},
		{"slip", "rpm", 1, 5000, false},
	}, `
rider   = carried_inertia(mass, ratio, rollout)
back    = equivalent_mass(rider, ratio, rollout)
held    = locked_torque(engine, crank, load, rider)
front   = shaft_acceleration(engine - held, crank)
rear    = shaft_acceleration(held - load, rider)
arms    = arm_mass_for_clamp(springs + more, springs, radius, lever, speed)
clamp   = clutch_clamp(springs, arms, radius, lever, speed)
wanted  = springs + more
drives  = slip_torque(engine, slip) > 0 lbf.ft and slip_torque(engine, -1 * slip) < 0 lbf.ft and abs(slip_torque(engine, 0 rpm)) <= 0 lbf.ft
fades   = 0.1 < slip_friction(0.13, 0.1, slip, 900 rpm) < 0.13
`)
	same(t, d, "back", "mass", 1e-12)
	same(t, d, "front", "rear", 1e-9)
	same(t, d, "clamp", "wanted", 1e-12)
	holds(t, d, "drives", "fades")
}

// TestSpoolTime: energy over power is what the acceleration adds up to.
func TestSpoolTime(t *testing.T) {
	d := draw(t, []given{{"turbine", "hp", 30, 90, false}, {"inertia", "kg.m2", 2e-5, 2e-4, false}, {"speed", "rpm", 40000, 120000, false}}, `
surplus = turbine - 20 hp
rate    = turbo_acceleration(turbine, 20 hp, inertia, speed)
short   = spool_time(inertia, speed * 0.99999, speed * 1.00001, surplus)
counted = speed * 0.00002 / rate
`)
	same(t, d, "short", "counted", 1e-6)
}
