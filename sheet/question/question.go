// Package question asks a sheet what follows from many values of its givens:
// sweep, solve, best, spread, worth. The answers carry results that the second
// evaluator has confirmed; the work itself is package whatif's.
package question

import (
	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// refuse returns the diagnostic of a question that cannot be asked.
func refuse(format string, args ...any) *diag.Diagnostic {
	return sheet.Refuse(format, args...).Diagnostic
}
