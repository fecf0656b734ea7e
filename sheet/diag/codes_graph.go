package diag

// GraphCycle says that a cell leans on itself.
const GraphCycle Code = "graph-cycle"

var _ = register(
	Row{GraphCycle, "a cell leans on itself, through what it reads", "a = b + 1\nb = c * 2\nc = a / 3\n"},
)
