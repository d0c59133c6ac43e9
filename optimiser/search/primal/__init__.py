"""Primal heuristic: good stacks early, by adding up what single shims do."""
