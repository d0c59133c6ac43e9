"""The stacks that were found to meet a goal together, the closest first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.damper_answer import DamperCandidate, closeness
from optimiser.model.edits import contents_of
from optimiser.model.objection import Objection
from optimiser.model.open_stacks import DamperProblem

Floats = NDArray[np.float64]

TIE: Final = 10.0**-rank.TIES


class Found:
    """Judges stacks together, and keeps the best of them.

    Parameters
    ----------
    problem : what is asked.
    wanted : how many are kept.
    setting : of the adjusters.

    Attributes
    ----------
    kept : those that meet the goal, the closest first.
    nearest_of : by number of changes, what comes nearest of all that was judged and missed the goal.
    """

    def __init__(self, problem: DamperProblem, *, wanted: int, setting: int) -> None:
        self.problem, self.wanted, self.setting = problem, wanted, setting
        self.kept: list[DamperCandidate] = []
        self.nearest_of: dict[int, DamperCandidate] = {}
        self.refused: Counter[Objection] = Counter()
        self._seen: set[tuple[Stack, ...]] = set()

    @property
    def error_to_beat(self) -> float:
        """Distance from the target that others have to better, or to equal. [-]"""
        if len(self.kept) < self.wanted:
            return float("inf")
        return self.kept[self.wanted - 1].target_error + TIE

    def look_at(self, stacks: Sequence[Stack], forces: Floats) -> None:
        """Keep stacks with these forces if they meet the goal, or come nearest."""
        name = tuple(stacks)
        if name in self._seen or not self.problem.shelf_allows(stacks):
            return
        one = self.problem.candidate(stacks, setting=self.setting, forces=forces)
        if one.misfit > 0:
            known = self.nearest_of.get(one.number_of_changes)
            nearer = known is None or one.misfit < known.misfit
            if nearer and self.problem.whole.objection(stacks, self.setting) is None:
                self.nearest_of[one.number_of_changes] = one
            return
        self._seen.add(name)
        objection = self.problem.whole.objection(stacks, self.setting)
        if objection is None:
            self.keep(one)
        else:
            self.refused[objection] += 1

    def keep(self, one: DamperCandidate) -> None:
        """Keep the list in order: of the same shims, in whatever order in their packs, the closest."""
        contents = tuple(map(contents_of, one.stacks))
        twin = next((k for k in self.kept if tuple(map(contents_of, k.stacks)) == contents), None)
        if twin is not None:
            if closeness(twin) <= closeness(one):
                return
            self.kept.remove(twin)
        self.kept.append(one)
        self.kept.sort(key=closeness)
        del self.kept[self.wanted :]
