"""What if: dampers with other stacks, clicks, oils and temperatures, measured against the first of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Final

import numpy as np

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.errors import InputError
from optimiser.intake.bands import SIGN, Band
from optimiser.intake.goal_builder import velocities_of
from optimiser.model.band_result import BandResult, band_result
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.rules import Mounting

SLOWEST: Final = 0.01
"""Speed that curves start at. [m/s]"""

POINTS: Final = 40
"""Velocities of a curve in each stroke, in equal ratios."""

FASTEST: Final = 2.0
"""Speed that curves go to unless another is asked for. [m/s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """A damper as it might be.

    Parameters
    ----------
    label : what tells it from the others.
    damper : with its stacks and its oil.
    stack_name : the stack that is looked at; None for a damper that has no such stack.
    mounting : the place that it is bolted to, for its drawing; None where that is not wanted.
    clicks : of those clickers that do not stand where the damper says, clicks out.
    temperature : of the oil; the damper's own when left out. [K]
    """

    label: str
    damper: Damper
    stack_name: str | None = None
    mounting: Mounting | None = None
    clicks: Mapping[str, int] = field(default_factory=dict)
    temperature: float | None = None

    @property
    def stack(self) -> Stack | None:
        """The stack that is looked at, from the piston outwards."""
        return None if self.stack_name is None else self.damper.stack_path(self.stack_name).stack

    def curve(self, velocities: np.typing.NDArray[np.float64]) -> ForceCurve:
        """Its forces at shaft velocities, positive in compression. [m/s]"""
        return force_curve(
            self.damper,
            velocities=velocities,
            temperature=self.temperature,
            clicks=self.clicks,
            steel=SpringSteel(),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One of several dampers, measured against the first of them.

    Parameters
    ----------
    what : the damper.
    forces : damping force at each velocity of the goal, against the motion. [N]
    bands : what that is in each band, and how it differs from the first.
    curve : its forces over both strokes.
    """

    what: WhatIf
    forces: tuple[float, ...]
    bands: tuple[BandResult, ...]
    curve: ForceCurve


@dataclass(frozen=True, slots=True)
class Comparison:
    """Several dampers laid over one another.

    Parameters
    ----------
    goal : the bands, with the forces that changes are counted from.
    cases : the first is what the others are measured against.
    """

    goal: Goal
    cases: tuple[Compared, ...]


def compare(
    whats: Sequence[WhatIf],
    *,
    goal: Goal | None = None,
    bands: Sequence[Band] = (),
    fastest: float = FASTEST,
) -> Comparison:
    """Lay dampers over one another.

    Parameters
    ----------
    whats : at least one; the first is what the others are measured against.
    goal : of a job, for its bands with what they allow; its forces before are those of the first.
    bands : that nothing is asked of, where there is no goal.
    fastest : speed that curves go to. [m/s]

    Raises
    ------
    InputError
        When there is nothing to compare, or a band in which the first has no force.
    ModelError
        When one of the dampers cannot be computed.
    """
    if not whats:
        raise InputError("got nothing to compare, expected at least one damper.")
    goal = shown_goal(bands, whats[0]) if goal is None else goal
    speeds = np.geomspace(SLOWEST, fastest, POINTS)
    velocities = np.concatenate([-speeds[::-1], speeds])
    cases = []
    for what in whats:
        forces = tuple(float(force) for force in what.curve(goal.velocities).force_against_motion)
        results = tuple(band_result(window, forces[part]) for window, part in goal.parts)
        cases.append(Compared(what=what, forces=forces, bands=results, curve=what.curve(velocities)))
    return Comparison(goal, tuple(cases))


def shown_goal(bands: Iterable[Band], first: WhatIf) -> Goal:
    """Bands of which nothing is asked, with the forces of a damper; one without force there is refused.

    Parameters
    ----------
    bands : to be shown, judged at the velocities at which a job judges its own.
    first : the damper that changes are counted from.
    """
    windows = []
    for band in bands:
        velocities = velocities_of(band)
        before = first.curve(velocities).force_against_motion
        if not (np.isfinite(before) & (before > 0)).all():
            raise InputError(
                f"band {band.label}: {first.label} has no damping force there, expected one above 0. "
                "Leave the band out, or check the damper."
            )
        force = tuple(float(one) for one in before)
        at = tuple(float(one) for one in velocities)
        windows.append(Window(band.name, Role.SHOWN, at, force, force, force, force))
    return Goal(windows=tuple(windows), least_height=0.0, most_height=np.inf)


def settings_of(damper: Damper, positions: Mapping[str, Sequence[int]]) -> list[dict[str, int]]:
    """Where the clickers of a damper are to stand: first as they are, then every combination asked for.

    Parameters
    ----------
    damper : one that lacks a clicker, or has no such position, leaves it out.
    positions : clicks out, by clicker.
    """
    reach = {clicker.name: len(clicker.areas) for clicker in damper.clickers}
    stands = {clicker.name: clicker.position for clicker in damper.clickers}
    own = {
        name: [at for at in asked if at < reach[name]] for name, asked in positions.items() if name in reach
    }
    own = {name: asked for name, asked in own.items() if asked}
    settings = [dict(zip(own, at, strict=True)) for at in product(*own.values())] if own else []
    return [{}, *(one for one in settings if any(stands[name] != at for name, at in one.items()))]


def strokes_with_force(damper: WhatIf, bands: Iterable[Band]) -> tuple[Band, ...]:
    """Those of several bands in whose stroke a damper has a force at all."""
    kept = []
    for band in bands:
        ends = SIGN[band.stroke] * np.array([band.low, band.high])
        if (damper.curve(ends).force_against_motion > 0).all():
            kept.append(band)
    return tuple(kept)
