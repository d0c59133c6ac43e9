"""Every stack one change away in one place of a damper, with what it does to the force.

Forces come coarsely, with margins that are far wider than coarse forces were ever off; each that is asked for
exactly is held against its margin, so that a margin which is too narrow is noticed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.open_stacks import OpenStack
from optimiser.model.stock import Stock
from optimiser.search.evaluator import Evaluator
from optimiser.studies.single_changes import single_changes

Floats = NDArray[np.float64]

SHARE: Final = 3e-3
PER_SIZE: Final = 5e-2
"""Margin of a coarse force as a share of the force before, and of its own change. [-]

Chosen after a look at 150 random single changes in each of the five stacks of the demo's fork and motocross
shock; larger changes were off by more, which is why those are worked out exactly (:data:`FAR`).
"""

FAR: Final = 0.3
"""Changes beyond this share of the force are worked out exactly: coarse forces are not made for them. [-]"""

PER_FAR_SIZE: Final = 0.5
"""The same of such a change, where nothing but bounds is wanted. [-]"""

AT_ONCE: Final = 64
"""Stacks that are asked about before it is looked whether it is time to stop. [-]"""


def margins_of(coarse: Floats, before: Floats) -> Floats:
    """How far exact forces may lie from coarse ones at most (velocities,). [N]

    Parameters
    ----------
    coarse, before : forces with a stack changed and with all as they are (velocities,). [N]
    """
    size, scale = np.abs(coarse - before), np.abs(before)
    return np.asarray(SHARE * scale + np.where(size > FAR * scale, PER_FAR_SIZE, PER_SIZE) * size)


class OneChange:
    """Stacks one change away in one place, those that keep to the rules and the range of heights.

    Parameters
    ----------
    one : the place.
    stock : what may come.
    evaluator : asks the physics of that place.
    setting : of the adjusters.
    before : force with all stacks as they are (velocities,). [N]
    widening : how many times as wide as usual margins are.
    wait : called now and then; may raise to end it.

    Attributes
    ----------
    stacks : which.
    changes, low, high : what each adds to the force, coarsely, and below and above it (stacks, velocities).
        [N]
    off_margin : most that a coarse change was off an exact one, as a share of its margin. [-]
    unanswered : stacks that the model has no answer for.
    """

    def __init__(
        self,
        one: OpenStack,
        *,
        stock: Stock,
        evaluator: Evaluator,
        setting: int,
        before: Floats,
        widening: float,
        wait: Callable[[], None],
    ) -> None:
        self.place, self._evaluator, self._setting = one, evaluator, setting
        self._before, self._widening = before, widening
        self.stacks: list[Stack] = []
        self.unanswered: list[Stack] = []
        self.off_margin = 0.0
        self._plates: list[PackedStack] = []
        self._exact: dict[int, Floats | None] = {}
        self.changes, self.low, self.high, self._margins = (np.zeros((0, before.size)) for _ in range(4))
        rounding = MICROMETRE / 2
        for stack in single_changes(one.stack, mounting=one.mounting, stock=stock):
            if not one.least_height - rounding <= stack.height <= one.most_height + rounding:
                continue
            try:
                plates = one.physics.packed(stack)
            except ModelError:
                self.unanswered.append(stack)
                continue
            self.stacks.append(stack)
            self._plates.append(plates)
        self._work_out(wait)
        self._leave_out_unanswered()

    def _leave_out_unanswered(self) -> None:
        """Go on without the stacks that the model has no answer for."""
        answered = np.isfinite(self.high).all(axis=1)
        known = np.flatnonzero(answered).tolist()
        self.unanswered += [self.stacks[place] for place in np.flatnonzero(~answered).tolist()]
        self._exact = {new: self._exact[old] for new, old in enumerate(known) if old in self._exact}
        self.stacks = [self.stacks[place] for place in known]
        self._plates = [self._plates[place] for place in known]
        self.changes, self.low, self.high = self.changes[known], self.low[known], self.high[known]
        self._margins = self._margins[known]

    def _work_out(self, wait: Callable[[], None]) -> None:
        """Work out what each adds: coarsely, or exactly where it is far."""
        count, velocities = len(self.stacks), self._before.size
        changes, margins = np.zeros((count, velocities)), np.zeros((count, velocities))
        for start in range(0, count, AT_ONCE):
            wait()
            part = self._plates[start : start + AT_ONCE]
            for place, coarse in enumerate(self._evaluator.coarse_once(part, self._setting), start):
                if coarse is None or (np.abs(coarse - self._before) > FAR * np.abs(self._before)).any():
                    exact = self._exact_forces(place)
                    if exact is None:
                        margins[place] = np.inf
                    else:
                        changes[place] = exact - self._before
                    continue
                changes[place] = coarse - self._before
                margins[place] = margins_of(coarse, self._before)
        silent = ~np.array(self.place.has_say)
        changes[:, silent] = margins[:, silent] = 0.0
        margins *= self._widening
        self.changes, self.low, self.high = changes, changes - margins, changes + margins
        self._margins = margins

    def exact(self, place: int) -> Floats | None:
        """Force with one of the stacks and all other places as they are (velocities,); None without. [N]"""
        forces = self._exact_forces(place)
        if forces is not None:
            off = np.abs(forces - self._before - self.changes[place])
            wide = np.maximum(self._margins[place], 1e-9 * np.abs(self._before))
            self.off_margin = max(self.off_margin, float((off / wide).max(initial=0.0, where=wide > 0)))
        return forces

    def _exact_forces(self, place: int) -> Floats | None:
        if place not in self._exact:
            self._exact[place] = self._evaluator.exact_forces(self._plates[place], self._setting)
        return self._exact[place]
