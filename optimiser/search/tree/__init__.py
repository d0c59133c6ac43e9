"""Best-first search over families: roots, branching, nodes that are open."""
