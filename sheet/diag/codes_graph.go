package diag

// GraphCycle says that a cell depends on itself.
const GraphCycle Code = "graph-cycle"

var _ = register(
	Row{GraphCycle, "a cell depends on itself, through what it reads", "a = b + 1\nb = c * 2\nc = a / 3\n"},
)
