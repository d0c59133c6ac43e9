"""The search: the fewest changes of shims that meet a goal, and the proof that fewer will not do.

A best-first branch and bound over families of stacks. :func:`solve` answers a :class:`Problem` by its goal;
:func:`survey` finds different ways to a goal, and :func:`climb` adds to the answer what each number of
changes does; :func:`explore` searches the same tree for any objective, and the studies are built on it. A
:class:`Control` says when a search ends early and what it tells meanwhile. docs/model/search.md explains the
method.
"""

from optimiser.model.problem import Problem
from optimiser.search.control import Control, Progress, TreeProgress
from optimiser.search.explore import Explored, explore
from optimiser.search.ladder import climb, survey
from optimiser.search.solve import solve

__all__ = [
    "Control",
    "Explored",
    "Problem",
    "Progress",
    "TreeProgress",
    "climb",
    "explore",
    "solve",
    "survey",
]
