"""A damper of the damping model with all of its open stacks in place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.boiling import Span, stays_whole
from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve, solved
from damping_model.damper.stack_sums import coupled_stacks
from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.model.damper_answer import USUAL_TIMES, WorkTimes
from optimiser.model.damper_description import DamperDescription, with_stack
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal
from optimiser.model.objection import Objection
from optimiser.model.open_stacks import DamperProblem, OpenStack
from optimiser.model.stock import Stock

Floats = NDArray[np.float64]

FURTHER: Final = 0.2
"""How far one stack may lead beyond the windows, as a share of the force. [-]"""

KEPT: Final = 10_000
"""Objections that are kept. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperAsked:
    """What a damper with several open stacks is asked.

    Parameters
    ----------
    goal : windows for the force; its heights are not looked at.
    stock : what is on the shelf.
    may_shrink, may_grow : how far the height of each stack may change. [m]
    times : what it takes to open assemblies and to change shims.
    temperature : of the oil; the damper's own when left out. [K]
    stress_limit : what no shim of a changed stack may be stressed beyond; None for no limit. [Pa]
    further : how far beyond the windows coarse forces are good, since another stack may make up for it, as a
        share of the force. [-]
    wanted : least and most force that the goal asks for, as shares of what the damper has; those of the goal
        when left out, which count from the damper that it was made for. [-]
    heights : that stacks may shrink and grow from, by name; those that they have when left out. [m]
    """

    goal: Goal
    stock: Stock
    may_shrink: float
    may_grow: float
    times: WorkTimes = USUAL_TIMES
    temperature: float | None = None
    stress_limit: float | None = None
    further: float = FURTHER
    wanted: tuple[Floats, Floats] | None = None
    heights: Mapping[str, float] = field(default_factory=dict)


def damper_problem(described: DamperDescription, names: Sequence[str], asked: DamperAsked) -> DamperProblem:
    """The problem of a damper with some of its stacks open.

    Raises
    ------
    InputError
        When its valves close a ring.
    """
    goal, steel = asked.goal, SpringSteel()
    least, most = asked.wanted or goal.shares
    physics = {
        name: DamperPhysics(
            described.damper,
            stack_name=name,
            velocities=goal.velocities,
            temperature=asked.temperature,
            steel=steel,
            wanted=(least - asked.further, most + asked.further),
            spans=goal.spans,
            stress_limit=asked.stress_limit,
        )
        for name in names
    }
    open_stacks = []
    for mounted in (described.stack_named(name, where="stack") for name in names):
        height = asked.heights.get(mounted.name, mounted.stack.height)
        open_stacks.append(
            OpenStack(
                name=mounted.name,
                assembly=described.assemblies[mounted.name],
                stack=mounted.stack,
                mounting=mounted.mounting,
                physics=physics[mounted.name],
                has_say=tuple(map(bool, physics[mounted.name].has_say)),
                least_height=max(height - asked.may_shrink, 0.0),
                most_height=min(height + asked.may_grow, mounted.mounting.most_height),
            )
        )
    whole = WholeDamper(
        described.damper,
        physics,
        velocities=goal.velocities,
        spans=goal.spans,
        temperature=asked.temperature,
        steel=steel,
    )
    coupled = tuple(
        same
        for group in coupled_stacks(described.damper)
        if len(same := tuple(name for name in group if name in names)) > 1
    )
    return DamperProblem(
        open_stacks=tuple(open_stacks),
        whole=whole,
        stock=asked.stock,
        goal=goal,
        times=asked.times,
        coupled=coupled,
    )


class WholeDamper:
    """One damper, asked as a whole circuit for any stacks in its open places.

    Parameters
    ----------
    damper : with the stacks that it has now.
    physics : the damper with each of its open stacks open by itself, by name.
    velocities : where the goal is judged, positive in compression. [m/s]
    spans : stretches of velocity in which oil may not boil. [m/s]
    temperature : of the oil; the damper's own when left out. [K]
    steel : of the shims.
    """

    def __init__(
        self,
        damper: Damper,
        physics: dict[str, DamperPhysics],
        *,
        velocities: Floats,
        spans: Sequence[Span],
        temperature: float | None,
        steel: SpringSteel,
    ) -> None:
        self._damper, self._physics = damper, physics
        self._velocities, self._spans = velocities, tuple(spans)
        self._temperature, self._steel = temperature, steel
        self._settings = next(iter(physics.values())).settings
        self._known: dict[tuple[tuple[Stack, ...], int], Objection | None] = {}

    def forces(self, stacks: Sequence[Stack], setting: int) -> Floats:
        """Damping force at each velocity, by the force curve of the damper with these stacks. [N]"""
        curve = force_curve(
            self._with(stacks),
            velocities=self._velocities,
            temperature=self._temperature,
            steel=self._steel,
            clicks=self._settings[setting],
        )
        return curve.force_against_motion

    def objection(self, stacks: Sequence[Stack], setting: int) -> Objection | None:
        """What speaks against these stacks together: each is looked into once."""
        name = tuple(stacks), setting
        if name not in self._known:
            if len(self._known) >= KEPT:
                self._known.clear()
            self._known[name] = self._objection(*name)
        return self._known[name]

    def _objection(self, stacks: tuple[Stack, ...], setting: int) -> Objection | None:
        try:
            ready, _, _ = solved(
                self._with(stacks),
                velocities=self._velocities,
                temperature=self._temperature,
                clicks=self._settings[setting],
                steel=self._steel,
            )
            if not stays_whole(ready, self._spans):
                return Objection.BOILS
            overstressed = any(
                one.overstressed(stack, setting)
                for one, stack in zip(self._physics.values(), stacks, strict=True)
            )
        except ModelError:
            return Objection.BOILS
        # the flow at a stack, and so the pressure on it, is the same whatever the others are
        return Objection.OVERSTRESSED if overstressed else None

    def _with(self, stacks: Sequence[Stack]) -> Damper:
        damper = self._damper
        for name, stack in zip(self._physics, stacks, strict=True):
            if damper.stack_path(name).stack != stack:
                damper = with_stack(damper, name, stack)
        return damper
