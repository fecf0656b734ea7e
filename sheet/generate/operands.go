package generate

import (
	"math"

	"gearleaf/sheet/kernel"
)

// Operands are values at which operations go wrong: numbers near the tolerance,
// at the ends of their range and of both signs of zero, a blank, a fault.
var Operands = []float64{
	0, 1, -1, 2, 0.5, -2.5, 1 + 0.5e-12, 1 + 2e-12, 1e308, -1e308, 5e-324, math.Copysign(0, -1),
	kernel.Blank, kernel.Fault,
}
