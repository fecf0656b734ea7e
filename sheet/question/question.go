// Package question computes a sheet for many values of its givens: sweep,
// solve, best, spread, worth. The answers contain results that the second
// evaluator has confirmed; package whatif does the computing.
package question

import (
	"gearleaf/sheet"
	"gearleaf/sheet/diag"
)

// refuse returns the diagnostic of an invalid question.
func refuse(format string, args ...any) *diag.Diagnostic {
	return sheet.Refuse(format, args...).Diagnostic
}
