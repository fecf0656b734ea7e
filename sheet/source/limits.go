package source

// All bounds of the engine. Input beyond a bound is refused with an error that
// states it.
const (
	MaxFileBytes   = 64 << 20      // one worksheet or CSV file
	MaxLogBytes    = 512 << 20     // one log
	MaxSamples     = 40_000_000    // values that are read of one log
	MaxLineBytes   = 1 << 20       // one line
	MaxNameBytes   = 100           // one name
	MaxDepth       = 200           // brackets, ifs and signs inside each other
	MaxOperators   = 10_000        // operators of one formula
	MaxErrors      = 100           // errors reported for one file; then it stops
	MaxUses        = 100           // worksheets used by one sheet
	MaxUseDepth    = 20            // a use of a use of …
	MaxRows        = 1_000_000     // rows of one table
	MaxFields      = 10_000_000    // rows times columns of all tables
	MaxMoved       = 400_000       // values that one comparison, or one document of a change, lists
	MaxReported    = 2_500_000     // live fields of all tables in one JSON document, page, workbook or full report
	MaxPageCells   = 50_000        // cells of one page that calculates
	MaxExpanded    = 100_000       // operations of one formula after expanding its calls
	MaxLimits      = 100_000       // limits and advises of a sheet
	MaxWritten     = 5_000_000     // operations of all formulas' calls after expanding them
	MaxWork        = 1_000_000_000 // operations on rows in one computation of a sheet
	MaxBodies      = 5_000_000     // operations of all functions' bodies, once for each set of types
	MaxExponent    = 20            // of a base dimension, either sign
	MaxMeasures    = 1<<24 - 1     // dimensions, with their kinds, in all of a sheet
	MaxColumnBytes = 1 << 16       // one CSV field
	MaxCorrelated  = 500           // givens whose errors are correlated
	MaxSources     = 20_000        // givens with a tolerance on which the results of one spread depend
)

// Bounds on the size of one sheet, which the benchmarks' build scales.
const (
	MaxLines    = scale * 500_000   // lines of one worksheet
	MaxFormulas = scale * 2_000_000 // operations of all formulas as written
)
