package speed

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"gearleaf/sheet/generate"
)

// gearing is the sheet of 150 cells as a programmer would write it for this
// one sheet: a field a cell, in SI, straight down. A field of six holds
// the cells of six gears. The fields from CommandedOK on are the sheet's
// limits and its advices.
type gearing struct {
	FrontSprocket, RearSprocket, PrimaryRatio, Rollout, ShiftSpeed, PeakTorque, Efficiency float64
	MassAll, DragArea, Growth, Slip, Grip, Gravity, Pitch, Centre, StopFrom, Braking       float64
	Ambient, Warmth, Humidity, Boost, Charge                                               float64
	Displacement, Filling, CompressorEff, CoolerEff                                        float64
	LambdaAim, AfrStoich, ScaleAfr, HeatValue, BrakeEff, FuelDensity                       float64
	RatedFlow, RatedDrop, RailDrop, OpenTime                                               float64
	GearRatio                                                                              [6]float64

	FinalRatio, LinksNeeded, StopWay, WheelRadius, GripLimit, ChainPace            float64
	WarmthC, Saturation, Vapour, Density, DryDensity, Oxygen, DensityShare         float64
	HeightAir, Factor, Manifold, PressureRatio, OutletRise, OutletHeat, CooledHeat float64
	ChargeDensity, AirFlow, CompressorPow, BoostedRatio                            float64
	Afr, Meter, FuelFlow, HeatPower, Spent, FlowReal, FuelVol, Hydraulic, Window   float64
	Pulse, Commanded, Piston, MeanPress                                            float64

	Overall, Speed, WheelTorque, Thrust, Drag, Accel, Carried, SpeedGrown, WindowOf, Duty, GripRuled [6]float64
	Drop                                                                                             [5]float64

	CommandedOK, PistonOK, FrontOK, ShiftOK, AirOK bool
}

// compute is the whole sheet, once.
func (g *gearing) compute() {
	g.road()
	g.air()
	g.turbo()
	g.fuel()
	for i := range g.GearRatio {
		g.gear(i)
	}
	for i := range g.Drop {
		g.Drop[i] = g.ShiftSpeed * g.GearRatio[i+1] / g.GearRatio[i]
	}
	g.CommandedOK, g.PistonOK = g.Commanded <= 1.5, g.Piston <= 24
	g.FrontOK = 15 <= g.FrontSprocket && g.FrontSprocket <= 19
	g.ShiftOK = 150 <= g.ShiftSpeed && g.ShiftSpeed <= 11800.0/60
	g.AirOK = 200 < g.Warmth && g.Warmth < 340
}

func (g *gearing) road() {
	g.FinalRatio = g.RearSprocket / g.FrontSprocket
	g.LinksNeeded = 2*g.Centre/g.Pitch + (g.FrontSprocket+g.RearSprocket)/2
	g.ChainPace = g.FrontSprocket * g.Pitch * g.ShiftSpeed / (g.PrimaryRatio * g.GearRatio[5])
	g.StopWay = g.StopFrom * g.StopFrom / (2 * g.Braking)
	g.WheelRadius = g.Rollout / (2 * math.Pi)
	g.GripLimit = g.Grip * g.Gravity
}

func (g *gearing) air() {
	g.WarmthC = g.Warmth - 273.15
	g.Saturation = 611.2 * math.Exp(17.62*g.WarmthC/(243.12+g.WarmthC))
	g.Vapour = g.Humidity * g.Saturation
	g.DryDensity = (g.Ambient - g.Vapour) / (287.05 * g.Warmth)
	g.Density = (g.Ambient-g.Vapour)/(287.05*g.Warmth) + g.Vapour/(461.5*g.Warmth)
	g.Oxygen = 0.2314 * g.DryDensity
	g.DensityShare = g.Density / 1.225
	g.HeightAir = 44330 * (1 - math.Pow(g.DensityShare, 0.235))
	g.Factor = 1.18*(99000/(g.Ambient-g.Vapour))*math.Sqrt(g.Warmth/298) - 0.18
}

func (g *gearing) turbo() {
	g.Manifold = g.Ambient + g.Boost
	g.PressureRatio = g.Manifold / g.Ambient
	g.OutletRise = g.Warmth * (math.Pow(g.PressureRatio, 0.2857) - 1) / g.CompressorEff
	g.OutletHeat = g.Warmth + g.OutletRise
	g.CooledHeat = g.OutletHeat - g.CoolerEff*(g.OutletHeat-g.Warmth)
	g.ChargeDensity = g.Manifold / (287.05 * g.Charge)
	g.AirFlow = g.Displacement * g.Filling * g.ChargeDensity * g.ShiftSpeed / 2
	g.CompressorPow = g.AirFlow * 1005 * g.OutletRise
	g.BoostedRatio = (g.Ambient + g.Boost) / (101325 + g.Boost)
}

func (g *gearing) fuel() {
	g.Afr = g.LambdaAim * g.AfrStoich
	g.Meter = g.LambdaAim * g.ScaleAfr
	g.FuelFlow = g.AirFlow / g.Afr
	g.HeatPower = g.AirFlow / g.AfrStoich * g.HeatValue * g.BrakeEff
	g.Spent = g.FuelFlow / g.HeatPower
	g.FlowReal = g.RatedFlow * math.Sqrt(g.RailDrop/g.RatedDrop) * 0.93
	g.FuelVol = g.FuelFlow / g.FuelDensity
	g.Hydraulic = g.FuelVol / g.FlowReal
	g.Window = 2 / g.ShiftSpeed
	g.Pulse = g.Hydraulic*g.Window + g.OpenTime
	g.Commanded = g.Pulse / g.Window
	g.Piston = 2 * 0.064 * g.ShiftSpeed
	g.MeanPress = g.HeatPower * 2 / (g.Displacement * g.ShiftSpeed)
}

func (g *gearing) gear(i int) {
	g.Overall[i] = g.PrimaryRatio * g.GearRatio[i] * g.FinalRatio
	g.Speed[i] = g.ShiftSpeed * g.Rollout / g.Overall[i]
	g.WheelTorque[i] = g.PeakTorque * g.Overall[i] * g.Efficiency
	g.Thrust[i] = g.WheelTorque[i] / g.WheelRadius
	g.Drag[i] = 0.5 * g.Density * g.DragArea * g.Speed[i] * g.Speed[i]
	g.Accel[i] = (g.Thrust[i] - g.Drag[i]) / g.MassAll
	if g.Accel[i] > g.GripLimit {
		g.Accel[i] = g.GripLimit
	}
	g.Carried[i] = g.Rollout * (1 + g.Growth*g.Speed[i]*g.Speed[i])
	g.SpeedGrown[i] = g.ShiftSpeed * g.Carried[i] / g.Overall[i] * (1 - g.Slip)
	g.WindowOf[i] = 2 / (g.ShiftSpeed * g.GearRatio[i] / g.GearRatio[0])
	g.Duty[i] = g.Pulse / g.WindowOf[i]
	g.GripRuled[i] = 0
	if g.Accel[i] >= g.GripLimit {
		g.GripRuled[i] = 1
	}
}

// rearChanged computes what a new rear sprocket reaches, and nothing else.
func (g *gearing) rearChanged() {
	g.FinalRatio = g.RearSprocket / g.FrontSprocket
	g.LinksNeeded = 2*g.Centre/g.Pitch + (g.FrontSprocket+g.RearSprocket)/2
	for i := range g.GearRatio {
		g.Overall[i] = g.PrimaryRatio * g.GearRatio[i] * g.FinalRatio
		g.Speed[i] = g.ShiftSpeed * g.Rollout / g.Overall[i]
		g.WheelTorque[i] = g.PeakTorque * g.Overall[i] * g.Efficiency
		g.Thrust[i] = g.WheelTorque[i] / g.WheelRadius
		g.Drag[i] = 0.5 * g.Density * g.DragArea * g.Speed[i] * g.Speed[i]
		g.Accel[i] = (g.Thrust[i] - g.Drag[i]) / g.MassAll
		if g.Accel[i] > g.GripLimit {
			g.Accel[i] = g.GripLimit
		}
		g.Carried[i] = g.Rollout * (1 + g.Growth*g.Speed[i]*g.Speed[i])
		g.SpeedGrown[i] = g.ShiftSpeed * g.Carried[i] / g.Overall[i] * (1 - g.Slip)
		g.GripRuled[i] = 0
		if g.Accel[i] >= g.GripLimit {
			g.GripRuled[i] = 1
		}
	}
}

// cells is the place in g of every cell, by its name in the sheet.
func (g *gearing) cells() map[string]*float64 {
	out := map[string]*float64{}
	v := reflect.ValueOf(g).Elem()
	for i := range v.NumField() {
		name := snake(v.Type().Field(i).Name)
		switch f := v.Field(i); f.Kind() {
		case reflect.Float64:
			out[name] = f.Addr().Interface().(*float64)
		case reflect.Array:
			for k := range f.Len() {
				out[fmt.Sprint(strings.TrimSuffix(name, "_of"), "_", k+1)] = f.Index(k).Addr().Interface().(*float64)
			}
		}
	}
	return out
}

// snake writes WheelTorque as wheel_torque.
func snake(name string) string {
	var out strings.Builder
	for i, r := range name {
		if i > 0 && r >= 'A' && r <= 'Z' {
			out.WriteByte('_')
		}
		out.WriteRune(r)
	}
	return strings.ToLower(out.String())
}

// byHand returns the hand-written sheet with the givens of the generated one.
func byHand(tb testing.TB, s *loaded) *gearing {
	g := &gearing{}
	cells := g.cells()
	for _, c := range s.model.Cells {
		at := cells[c.Name]
		if at == nil {
			tb.Fatalf("the hand-written sheet has no %s", c.Name)
		}
		if c.Given {
			*at = c.Value
		}
	}
	return g
}

// TestGearingByHand compares the hand-written sheet with the program, unchanged
// and with another rear sprocket.
func TestGearingByHand(t *testing.T) {
	s := load(t, generate.Gearing150())
	g, mc := byHand(t, s), s.program.NewMachine()
	mc.Run()
	g.compute()
	sameCells(t, s, g, mc)
	rear, _ := s.model.Resolve("rear_sprocket")
	mc.SetCell(int(rear.Index), 44)
	mc.Run()
	g.RearSprocket = 44
	g.rearChanged()
	sameCells(t, s, g, mc)
	for i, want := range []bool{g.CommandedOK, g.PistonOK} {
		if got := mc.Limit(i).Value == 1; got != want {
			t.Errorf("limit %d: %v by the program, %v by hand", i, got, want)
		}
	}
	for i, want := range []bool{g.FrontOK, g.ShiftOK, g.AirOK} {
		if got := mc.Advice(i).Value == 1; got != want {
			t.Errorf("advice %d: %v by the program, %v by hand", i, got, want)
		}
	}
}
