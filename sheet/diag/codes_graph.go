package diag

// GraphCycle says that a cell leans on itself.
const GraphCycle Code = "graph-cycle"
