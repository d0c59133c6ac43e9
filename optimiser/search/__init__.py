"""Fewest changes, proven: families of stacks, bounded by two runs of the physics each."""

from optimiser.model.problem import Problem
from optimiser.search.control import Control, Progress, TreeProgress
from optimiser.search.explore import Explored, explore
from optimiser.search.solve import solve

__all__ = ["Control", "Explored", "Problem", "Progress", "TreeProgress", "explore", "solve"]
