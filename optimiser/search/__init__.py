"""Fewest changes, proven: families of stacks, bounded by two runs of the physics each."""

from optimiser.search.explore import Explored, explore
from optimiser.search.iterative_deepening import Progress
from optimiser.search.solve import solve

__all__ = ["Explored", "Progress", "explore", "solve"]
