// Package sheet is the engine's front door: Load a worksheet, Set givens,
// Compute a Result, Change something and see what moved, Write values back
// into the text.
//
// The pipeline, a package a stage:
//
//	text → syntax (tree) → check (names, units, kinds: the checked tree)
//	     → graph (order) → program (the fast evaluator) → values
//	                     → referee (the plain evaluator) → the same values
//
// A formula is written once, by a tuner or by the library in package
// formulas, and every stage after check reads the same check.Model. Compute
// runs both evaluators and refuses to give out a number on which they differ.
package sheet
