"""What to ask of a family next, and what follows from the answer.

Its softest and its stiffest stack are asked whether they reach a level at one velocity. A part of a family is
thought to give what the whole gave until it is asked itself; how far its plates have moved since says how far
that may be off. All of that only orders the work: what closes a family is the answer's sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.search.bounds.node import SOFT, STIFF, Node
from optimiser.search.evaluator import Level, log_of
from optimiser.search.kernel.selection import likeliest
from optimiser.search.objective import Judge, Objective

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SETTLED_SLACK, MOVED_SLACK = (5e-3, 5e-3), (8e-3, 12e-3)
"""Shares of the force by which the lower and the upper bound are widened: where every crossover stays, and
where one is new, gone or moved. [-]

A bound glues the shims of a pack into one plate, whatever their thickness; and the model itself breaks its
order a little where a gap has just closed (docs/model/search.md has what was measured).
"""

SURE: Final = 0.03
"""A single stack is not asked about a level that its force is thought to clear by this share. [-]"""

BESIDE: Final = 0.4
"""Velocities whose forces go along with each other so far lie side by side. [-]"""

SLOWEST: Final = 1e-3
"""Velocities below this count as it. [m/s]"""

SIGNS: Final = np.array([[1.0], [-1.0]])
"""The soft end closes a family above its level, the stiff one below. [-]"""


@dataclass(frozen=True, slots=True)
class Ask:
    """Whether an end of a family lies beyond a level.

    Parameters
    ----------
    end : which.
    level : the velocity and the force.
    bound : of every member's force there, should the end lie beyond. [N]
    """

    end: int
    level: Level
    bound: float


@dataclass(frozen=True, slots=True)
class _Levels:
    """Levels for the soft end and for the stiff one (2, velocities).

    Parameters
    ----------
    lower, upper : forces that a family has to stay below or above to be closed. [N]
    forces : ``upper`` for the soft end, ``lower`` for the stiff one. [N]
    asked : those that the ends are asked about, so that the bounds' slack is allowed for. [N]
    logs : their logarithms, less than zero for the soft end. [-]
    signed_forces, signed_asked : both less than zero for the stiff end. [N]
    idle : where no answer would help.
    """

    lower: Floats
    upper: Floats
    forces: Floats
    asked: Floats
    logs: Floats
    signed_forces: Floats
    signed_asked: Floats
    idle: NDArray[np.bool_]

    @classmethod
    def of(cls, lower: Floats, upper: Floats, below: float, above: float) -> _Levels:
        """Levels with slack, as a share of the force below the soft end and above the stiff one."""
        forces = np.array([upper, lower])
        asked = forces / np.array([[1 - below], [1 + above]])
        idle = ~((asked > 0) & np.isfinite(asked))
        logs = -SIGNS * np.log(np.where(idle, 1.0, asked))
        return cls(lower, upper, forces, asked, logs, SIGNS * forces, SIGNS * asked, idle)


class Asking:
    """Chooses questions for families of one goal, and learns from the answers.

    Parameters
    ----------
    goal, judge : what is asked, and figures of it.
    physics : what answers.
    """

    def __init__(self, goal: Goal, judge: Judge, physics: BandPhysics) -> None:
        self.judge, self.physics = judge, physics
        self.nothing = np.zeros((2, goal.velocities.size), np.bool_)
        self._present = log_of(goal.before)
        self._near = _nearness(goal)
        self._beside = self._near > BESIDE
        self._known_levels: dict[tuple[float, float], _Levels] = {}

    def next(self, node: Node, objective: Objective, asked: Flags, *, again: bool = False) -> Ask | None:
        """The level that is likeliest to close a family; None when none is near enough.

        With ``again`` only one that the family is thought to miss, as far as it has been told.
        """
        if node.forces is not None:
            return None
        node.plates(SOFT, self.physics)
        while True:
            one = self._likeliest(node, objective, asked, again)
            if one is None or one.end in node.corners:
                return one
            # how far this end has moved tells whether another is likelier
            node.plates(one.end, self.physics)

    def _likeliest(self, node: Node, objective: Objective, asked: Flags, again: bool) -> Ask | None:
        levels = self._levels(node, objective)
        sure = 0.0 if node.made is None else SURE
        end, place = likeliest(
            node.thought,
            node.bounds,
            node.stood,
            node.drift,
            asked | levels.idle,
            levels.logs,
            levels.signed_forces,
            levels.signed_asked,
            self.judge.share,
            sure,
            again,
            node.corners[SOFT] is None,
        )
        if end < 0:
            return None
        return Ask(end, Level(place, float(levels.asked[end, place])), float(levels.forces[end, place]))

    def _levels(self, node: Node, objective: Objective) -> _Levels:
        """What an objective asks of a family, put in the order of its ends."""
        lower, upper = objective.levels(*np.exp(node.thought))
        slack = self._slack(node)
        known = self._known_levels.get(slack)
        if known is None or known.lower is not lower or known.upper is not upper:
            known = self._known_levels[slack] = _Levels.of(lower, upper, *slack)
        return known

    def _slack(self, node: Node) -> tuple[float, float]:
        """Shares of the force by which a member may lie below the soft end and above the stiff one."""
        doubt = self.physics.excess_tolerance
        if node.made is not None:
            return doubt, doubt
        below, above = SETTLED_SLACK if node.family.shape.settled else MOVED_SLACK
        return below + doubt, above + doubt

    def learn(self, node: Node, one: Ask, answer: Floats | None) -> bool:
        """Note on which side of a level an end lies, and move what is thought of it; whether it bounds."""
        place = one.level.place
        # an end without an equilibrium bounds nothing, and is not asked the same again
        excess = float(answer[0]) if answer is not None else -SIGNS[one.end, 0] * np.inf
        node.thought, node.drift = node.thought.copy(), node.drift.copy()
        for end in (one.end,) if node.made is None else (SOFT, STIFF):
            node.drift[end, self._beside[place]] = 0.0
            self._move(node.thought[end], place, np.log(one.level.force) + excess)
        beyond = bool(SIGNS[one.end, 0] * excess > 0)
        if beyond:
            node.bounds = node.bounds.copy()
            node.bounds[one.end, place] = one.bound
        else:
            node.stood[one.end, place] = min(node.stood[one.end, place], SIGNS[one.end, 0] * one.level.force)
        return beyond

    def _move(self, logs: Floats, place: int, thought: float) -> None:
        """Move what is thought of an end once one velocity is known: its neighbours go along."""
        if np.isfinite(thought):
            known = logs if np.isfinite(logs).all() else self._present
            logs[:] = known + self._near[place] * (thought - known[place])
        logs[place] = thought


def _nearness(goal: Goal) -> Floats:
    """How far the force at one velocity goes along with that at another. [-]"""
    speeds = np.log(np.maximum(np.abs(goal.velocities), SLOWEST))
    stroke = np.sign(goal.velocities)
    near = np.exp(-np.abs(speeds[:, None] - speeds[None, :]))
    return np.where(stroke[:, None] == stroke[None, :], near, 0.0)
