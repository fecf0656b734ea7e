package diag

// The codes of resolving names, tables and functions.
const (
	NameUnknown     Code = "name-unknown"
	NameDuplicate   Code = "name-duplicate"
	FunctionBuiltin Code = "function-builtin"
	FunctionUnknown Code = "function-unknown"
	TableAlone      Code = "table-alone"
	TableUnknown    Code = "table-unknown"
	ColumnUnknown   Code = "column-unknown"
	LibraryShadowed Code = "library-shadowed"

	UseCycle         Code = "use-cycle"
	OverrideComputed Code = "override-computed"
	OverrideClause   Code = "override-clause"
	OverrideHere     Code = "override-here"
	EntryRow         Code = "entry-row"
	GivenConflict    Code = "given-conflict"
	ClauseConflict   Code = "clause-conflict"
	ComputedTwice    Code = "computed-twice"
	PlugMismatch     Code = "plug-mismatch"

	GivenList     Code = "given-list"
	GivenEmpty    Code = "given-empty"
	FormMismatch  Code = "form-mismatch"
	ClauseForm    Code = "clause-form"
	ClauseSign    Code = "clause-sign"
	ClauseGiven   Code = "clause-given"
	RangeOrder    Code = "range-order"
	ChoiceRefused Code = "choice-refused"
	NotWhole      Code = "not-whole"

	TableRows        Code = "table-rows"
	TableColumns     Code = "table-columns"
	ColumnLength     Code = "column-length"
	FromOutside      Code = "from-outside"
	CSVMistake       Code = "csv-mistake"
	CSVDoubt         Code = "csv-doubt"
	CSVColumn        Code = "csv-column"
	CSVUnit          Code = "csv-unit"
	ColumnWhole      Code = "column-whole"
	LimitTables      Code = "limit-tables"
	NeighbourOutside Code = "neighbour-outside"
	NeighbourName    Code = "neighbour-name"
	AggregateColumn  Code = "aggregate-column"
	LookupTables     Code = "lookup-tables"
	StartMissing     Code = "start-missing"
	StartIdle        Code = "start-idle"
	StartPrev        Code = "start-prev"
	LoopWhole        Code = "loop-whole"
	ChartColumn      Code = "chart-column"

	CorrelateGiven    Code = "correlate-given"
	CorrelateValue    Code = "correlate-value"
	CorrelateTwice    Code = "correlate-twice"
	CorrelateConflict Code = "correlate-conflict"

	LogForm   Code = "log-form"
	LogColumn Code = "log-column"

	CallCount Code = "call-count"
	CallBody  Code = "call-body"
	BodyName  Code = "body-name"
	ParamLike Code = "param-like"
	Recursion Code = "recursion"
	TooLarge  Code = "too-large"
)

// An empty example needs more than one file or is too long; the tests of
// package check have it.
var _ = register(
	Row{NameUnknown, "a name that has no meaning", "tyre : 3\nwrong = tire * 2\n"},
	Row{NameDuplicate, "a name that has two meanings", "mass : 340 kg\nmass : 345 kg\n"},
	Row{FunctionBuiltin, "a function with the name of one that is built in", "function sqrt(x: m) as m\n  = x\n"},
	Row{FunctionUnknown, "an unknown function", "wrong = sqare(3)\n"},
	Row{TableAlone, "a table where a value is expected", "table gears\n  ratio : 2, 1\nwrong = gears * 2\n"},
	Row{TableUnknown, "an unknown table", "table gears\n  ratio : 2, 1\nwrong = last(gear.ratio)\n"},
	Row{ColumnUnknown, "a column that the table does not have", "table gears\n  ratio : 2, 1\nwrong = last(gears.ration)\n"},
	Row{LibraryShadowed, "a function or table that hides the library's", "function slip(a: m, b: m) as 1\n  = a / b\n"},
	Row{UseCycle, "worksheets that use each other in a cycle", ""},
	Row{OverrideComputed, "a value for a computed cell", ""},
	Row{OverrideClause, "a clause that belongs to the first declaration", ""},
	Row{OverrideHere, "an override that is not below a use", "table gears\n  ratio : 2, 1\ngears.ratio[2] : 1.1\n"},
	Row{EntryRow, "a row outside the table", "table gears\n  ratio : 2, 1\nwrong = gears.ratio[1 m]\n"},
	Row{GivenConflict, "two worksheets give one name different values", ""},
	Row{ClauseConflict, "two worksheets give one name different clauses", ""},
	Row{ComputedTwice, "two worksheets compute one name differently", ""},
	Row{PlugMismatch, "a given and the cell that computes it measure different things", ""},
	Row{GivenList, "several values for one cell", "ratio : 2, 1\n"},
	Row{GivenEmpty, "a value is missing", ""},
	Row{FormMismatch, "a number, a text or a logical value where another is expected", "wet : yes\nwrong = wet + 1\n"},
	Row{ClauseForm, "a clause that needs a number", "fuel : \"methanol\" range 1..2\n"},
	Row{ClauseSign, "a step or spread that is not above 0", "mass : 340 kg to 0\n"},
	Row{ClauseGiven, "a clause that only a given has", "mass : 340 kg\ntwice = 2 * mass range 600..700\n"},
	Row{RangeOrder, "a range that runs backwards", "mass : 340 kg range 400..300\n"},
	Row{ChoiceRefused, "a value that is not among the choices", "rear : 43 teeth choice 40, 41, 42\n"},
	Row{NotWhole, "a fraction of something that is counted in whole numbers", "rear : 41.5 teeth\n"},
	Row{TableRows, "a table without a number of rows", "table empty\n  x = row\n"},
	Row{TableColumns, "a table without a column", "table empty rows 3\n"},
	Row{ColumnLength, "columns of different length", "table gears\n  gear : 1, 2, 3\n  ratio : 2, 1\n"},
	Row{FromOutside, "a column from a file in a table that has none", "table log rows 3\n  speed : from \"Speed\" rpm\n"},
	Row{CSVMistake, "a mistake in a table's file", ""},
	Row{CSVDoubt, "a line of a table's file that was changed or truncated", ""},
	Row{CSVColumn, "a column that the file does not have", ""},
	Row{CSVUnit, "a column that is read in another unit than its heading names", ""},
	Row{ColumnWhole, "a whole column where one value is expected", "table gears\n  ratio : 2, 1\nwrong = gears.ratio * 2\n"},
	Row{LimitTables, "a limit on columns of two tables", "table a\n  x : 1, 2\ntable b\n  y : 1, 2\nlimit a.x < b.y\n"},
	Row{NeighbourOutside, "prev or next where there are no rows", "mass : 3 kg\nwrong = prev(mass)\n"},
	Row{NeighbourName, "prev or next of something that is not a column of the table", "mass : 3 kg\ntable a rows 3\n  x = prev(mass) start 1 kg\n"},
	Row{AggregateColumn, "an aggregate or look-up of something that is not a column", "mass : 3 kg\nwrong = mean(mass)\n"},
	Row{LookupTables, "a look-up in columns of two tables", "table a\n  x : 1, 2\ntable b\n  y : 1, 2\nwrong = lookup(1.5, a.x, b.y)\n"},
	Row{StartMissing, "prev without the value of the first row", "table a rows 3\n  x = prev(x) + 1\n"},
	Row{StartPrev, "prev in the value of the first row", "table a rows 3\n  x = prev(x) + 1 start prev(x)\n"},
	Row{LoopWhole, "a look ahead in a column that is computed row by row", "table a rows 3\n  x = row\n  y = prev(y) + max(x)   start 0\n"},
	Row{ChartColumn, "a chart of something other than columns of one table", "mass : 3 kg\ntable a\n  x : 1, 2\nchart \"Mass\" x a.x y mass\n"},
	Row{CorrelateGiven, "a correlation of a value that has no tolerance", "mass : 340 kg sd 1 kg\nlength : 2 m\ncorrelate mass, length 0.4\n"},
	Row{CorrelateValue, "a coefficient outside -1 to 1", "mass : 340 kg sd 1 kg\nlength : 2 m sd 1 mm\ncorrelate mass, length 1.4\n"},
	Row{CorrelateTwice, "two coefficients for one pair", "mass : 340 kg sd 1 kg\nlength : 2 m sd 1 mm\ncorrelate mass, length 0.4\ncorrelate length, mass 0.5\n"},
	Row{CorrelateConflict, "coefficients that contradict each other", "a : 1 sd 0.1\nb : 1 sd 0.1\nc : 1 sd 0.1\ncorrelate a, b 0.9\ncorrelate b, c 0.9\ncorrelate a, c -0.9\n"},
	Row{LogForm, "a line of a log that names no column of its file", "table run rows 3\n  time = row * 1 s\n  speed = row * 1 mph\nlog run\n  time : from \"T\" s\n  speed : 3 mph\n"},
	Row{LogColumn, "a column of a log that measures something else than the sheet's", "table run rows 3\n  time = row * 1 s\nlog run\n  time : from \"Time\" rpm\n"},
	Row{CallCount, "too many or too few arguments", "wrong = sqrt(3, 4)\n"},
	Row{CallBody, "arguments that do not fit a function's body", "function total(a, b)\n  = a + b\nwrong = total(1 m, 1 kg)\n"},
	Row{BodyName, "a function that reads a cell of the sheet", "mass : 3 kg\nfunction weight(g: m/s2) as N\n  = mass * g\n"},
	Row{ParamLike, "a parameter that takes its unit from one that takes its own from another", "function f(a: b, b: c, c: m)\n  = a + b + c\n"},
	Row{Recursion, "functions that call each other in a cycle", "function f(x: 1) as 1\n  = f(x) + 1\n"},
	Row{TooLarge, "a formula, table or nest of calls that is too large", ""},
)
