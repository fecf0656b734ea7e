// Package sheet is the engine's interface: Load a worksheet, Set givens,
// Compute a Result, Change a given and see what moved, Write values back into
// the text.
//
// The pipeline, one package per stage:
//
//	text → syntax (tree) → check (names, units, kinds: the checked tree)
//	     → graph (order) → program (the fast evaluator) → values
//	                     → referee (the plain evaluator) → the same values
//
// A formula is written once, by a tuner or by the library in package formulas,
// and every stage after check reads the same check.Model. Compute runs both
// evaluators and refuses to return a number on which they differ.
package sheet
