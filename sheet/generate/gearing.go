package generate

import (
	"fmt"
	"strings"
)

// Gearing150 returns a worksheet of 150 scalar cells with the formulas of
// gearing, fuel, air and turbo, in plain arithmetic and functions of its own,
// for the invented machine of the examples.
func Gearing150() string {
	var text strings.Builder
	text.WriteString(gearingHead)
	ratios := []string{"2.30", "1.85", "1.55", "1.33", "1.18", "1.07"}
	for i, r := range ratios {
		fmt.Fprintf(&text, "gear_ratio_%d : %s\n", i+1, r)
	}
	for i := range ratios {
		text.WriteString(strings.ReplaceAll(gearingOfOne, "@", fmt.Sprint(i+1)))
	}
	for i := 1; i < len(ratios); i++ {
		fmt.Fprintf(&text, "drop_%d = shift_speed * gear_ratio_%d / gear_ratio_%d as rpm to 10\n", i, i+1, i)
	}
	return text.String()
}

// gearingOfOne has the computed cells of gear @.
const gearingOfOne = `
overall_@      = primary_ratio * gear_ratio_@ * final_ratio
speed_@        = on_road(shift_speed, overall_@, rollout) as mph to 0.1
wheel_torque_@ = peak_torque * overall_@ * efficiency as lbf.ft
thrust_@       = wheel_torque_@ / wheel_radius as N
drag_@         = 0.5 * density * drag_area * speed_@^2 as N
accel_@        = min((thrust_@ - drag_@) / mass_all, grip_limit)
carried_@      = rollout_at(rollout, speed_@, growth) as mm
speed_grown_@  = on_road(shift_speed, overall_@, carried_@) * (1 - slip) as mph to 0.1
window_@       = 2 turn / (shift_speed * gear_ratio_@ / gear_ratio_1) as ms
duty_@         = pulse / window_@ as %
grip_ruled_@   = if accel_@ >= grip_limit then 1 else 0
`

const gearingHead = `title   "Invented machine, 150 cells"
caution "Figures are a plan. The rule book, the tyre's rating and the maker's limits come first."

function on_road(engine: rpm, ratio_all: 1, around: mm) as km/h
  "Road speed with no slip."
  = engine * around / ratio_all / (1 turn)

function rollout_at(around: mm, pace: m/s, growth: s2/m2) as mm
  "Rollout of a tyre that grows with speed."
  share = growth * pace^2
  = around * (1 + share)

function moist(pressure: kPa, heat: degC, vapour: Pa) as kg/m3
  "Density of moist air as an ideal mixture."
  valid 200 K < plain(heat) < 340 K "Outside the air of a day"
  dry = plain(pressure) - vapour
  = dry / (287.05 J/(kg.K) * plain(heat)) + vapour / (461.5 J/(kg.K) * plain(heat))

front_sprocket : 17 teeth range 15..19
rear_sprocket  : 42 teeth choice 40, 41, 42, 44
primary_ratio  : 1.55
rollout        : 2040 mm ± 6 mm
shift_speed    : 10600 rpm range 9000..11800
peak_torque    : 233 lbf.ft
efficiency     : 90 %
mass_all       : 750 lb
drag_area      : 0.40 m2
growth         : 0.0000025 s2/m2
slip           : 4 %
grip           : 2.5
gravity        : 9.80665 m/s2

final_ratio  = rear_sprocket / front_sprocket
pitch        : 15.875 mm
centre       : 640 mm
stop_from    : 180 mph
braking      : 8 m/s2
links_needed = 2 * centre / pitch + (front_sprocket + rear_sprocket) / (2 teeth)
chain_pace   = front_sprocket * pitch * shift_speed / (primary_ratio * gear_ratio_6) / (1 teeth) / (1 turn)
stop_way     = stop_from^2 / (2 * braking) as ft
wheel_radius = rollout / (2 * pi)
grip_limit   = grip * gravity

ambient  : 29.40 inHg
warmth   : 77 degF
humidity : 45 %
boost    : 21 psig ± 0.5
charge   : 56 degC

warmth_c      = (plain(warmth) - 273.15 K) / (1 K)
saturation    = 611.2 Pa * exp(17.62 * warmth_c / (243.12 + warmth_c)) as Pa
vapour        = humidity * saturation as Pa
density       = moist(ambient, warmth, vapour) as kg/m3
dry_density   = (plain(ambient) - vapour) / (287.05 J/(kg.K) * plain(warmth)) as kg/m3
oxygen        = 0.2314 * dry_density as kg/m3
density_share = density / (1.225 kg/m3)
height_air    = 44330 m * (1 - density_share^0.235) as ft
factor        = 1.18 * (99000 Pa / (plain(ambient) - vapour)) * (plain(warmth) / 298 K)^0.5 - 0.18

displacement   : 1352 cm3
filling        : 105 %
compressor_eff : 72 %
cooler_eff     : 85 %
manifold       = ambient + boost as kPa
pressure_ratio = manifold / ambient
outlet_rise    = plain(warmth) * (pressure_ratio^0.2857 - 1) / compressor_eff
outlet_heat    = plain(warmth) + outlet_rise
cooled_heat    = outlet_heat - cooler_eff * (outlet_heat - plain(warmth))
charge_density = plain(manifold) / (287.05 J/(kg.K) * plain(charge)) as kg/m3
air_flow       = displacement * filling * charge_density * shift_speed / (2 turn) as lb/min
compressor_pow = air_flow * 1005 J/(kg.K) * outlet_rise as hp
boosted_ratio  = (plain(ambient) + plain(boost)) / (101325 Pa + plain(boost))

lambda_aim : 0.74
afr_stoich : 6.47
scale_afr  : 14.7
heat_value : 19.9 MJ/kg
brake_eff  : 37.5 %
fuel_density : 792 kg/m3
rated_flow   : 6280 cc/min
rated_drop   : 43.5 psid
rail_drop    : 58 psid
open_time    : 1.2 ms

afr        = lambda_aim * afr_stoich
meter      = lambda_aim * scale_afr
fuel_flow  = air_flow / afr as lb/h
heat_power = air_flow / afr_stoich * heat_value * brake_eff as hp
spent      = fuel_flow / heat_power as lb/(hp.h)
flow_real  = rated_flow * sqrt(rail_drop / rated_drop) * 0.93 as cc/min
fuel_vol   = fuel_flow / fuel_density as cc/min
hydraulic  = fuel_vol / flow_real as %
window     = 2 turn / shift_speed as ms
pulse      = hydraulic * window + open_time as ms
commanded  = pulse / window as %
piston     = 2 * 64 mm * shift_speed / (1 turn) as m/s
mean_press = heat_power * 2 turn / (displacement * shift_speed) as MPa

limit  commanded <= 150 %  "Beyond what the injectors can do"
advise piston <= 24 m/s    "Pistons faster than is common"

`
