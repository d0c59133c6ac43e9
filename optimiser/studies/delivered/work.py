"""The least work that makes a delivered damper suit: its clicks, then shims from the shelf."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from damping_model.damper.damper import Damper
from damping_model.stack.steel import SpringSteel
from optimiser.errors import InputError
from optimiser.intake.bands import Stroke
from optimiser.intake.goal_builder import BOTH_STROKES
from optimiser.intake.suits import ShimsNeeded
from optimiser.model.answer import Answer, Status
from optimiser.model.damper_description import DamperDescription, MountedStack
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal, Window
from optimiser.model.stock import Stock
from optimiser.search import Control, Problem, solve

MAY_SHRINK, MAY_GROW = 0.4e-3, 0.2e-3
"""How far a stack's height may change, as in a job that says nothing else. [m]"""

STEEL = SpringSteel()


@dataclass(frozen=True, slots=True)
class WorkLimits:
    """How much may be done to make a damper suit.

    Parameters
    ----------
    stock : what is on the shelf.
    most_changes : most shims changed in one stack.
    time_limit : for each stack. [s]
    should_stop : asked often.
    """

    stock: Stock
    most_changes: int
    time_limit: float
    should_stop: Callable[[], bool] | None = None


def by_clicks(description: DamperDescription, windows: Sequence[Window]) -> Mapping[str, int] | None:
    """Adjusters that have to be turned, and where to, to bring every window in; None when none do.

    Of several ways the one with the fewest clicks turned.
    """
    goal = Goal(tuple(windows), 0.0, math.inf)
    mounted = description.stacks[0]
    physics = _physics(description.damper, mounted, goal)
    packed, start = physics.packed(mounted.stack), physics.settings[physics.setting]

    def turned(setting: Mapping[str, int]) -> dict[str, int]:
        return {name: at for name, at in setting.items() if at != start[name]}

    fitting = []
    for number, setting in enumerate(physics.settings):
        forces = physics.forces(packed, number)
        inside = ((forces >= goal.lower * (1 - 1e-9)) & (forces <= goal.upper * (1 + 1e-9))).all()
        if inside and physics.promised(packed, number):
            clicks = sum(abs(at - start[name]) for name, at in setting.items())
            fitting.append((clicks, number, turned(setting)))
    return min(fitting)[2] if fitting else None


def by_shims(description: DamperDescription, windows: Sequence[Window], work: WorkLimits) -> ShimsNeeded:
    """Fewest shims changed, with the clicks where they help, that bring every window in.

    Each stroke by itself, and in one of its stacks; where both strokes want one adjuster in two places,
    nothing is found and nothing proven.
    """
    total, proven, settings = 0, True, list[Mapping[str, int]]()
    for stroke in BOTH_STROKES:
        ours = [window for window in windows if (window.velocities[0] > 0) is (stroke == "compression")]
        if not ours:
            continue
        answers = [
            _answer(description.damper, mounted, ours, work) for mounted in _stacks_of(description, stroke)
        ]
        found = [pair for pair in answers if pair[0].candidates]
        if not found:
            impossible = len(answers) == 1 and answers[0][0].status is Status.PROVEN_IMPOSSIBLE
            return ShimsNeeded(None, impossible)
        answer, physics = min(found, key=lambda pair: len(pair[0].candidates[0].changes))
        best = answer.candidates[0]
        total += len(best.changes)
        several = len(answers) > 1 and len(best.changes) > 1
        proven = proven and answer.status is Status.PROVEN_LEAST and not several
        settings.append(physics.settings[best.setting])
    if any(one[name] != other[name] for one in settings for other in settings for name in one.keys() & other):
        return ShimsNeeded(None, False)
    start = {clicker.name: clicker.position for clicker in description.damper.clickers}
    turned = {name: at for one in settings for name, at in one.items() if at != start[name]}
    return ShimsNeeded(total, proven, turned)


def _answer(
    damper: Damper, mounted: MountedStack, windows: Sequence[Window], work: WorkLimits
) -> tuple[Answer, DamperPhysics]:
    stack = mounted.stack
    goal = Goal(
        tuple(windows),
        max(stack.height - MAY_SHRINK, 0.0),
        min(stack.height + MAY_GROW, mounted.mounting.most_height),
    )
    physics = _physics(damper, mounted, goal)
    problem = Problem(physics=physics, stack=stack, mounting=mounted.mounting, stock=work.stock, goal=goal)
    answer = solve(
        problem,
        most_changes=work.most_changes,
        control=Control(time_limit=work.time_limit, should_stop=work.should_stop),
        wanted=1,
        settings=_nearest_first(physics),
        find_nearest=False,
    )
    return answer, physics


def _nearest_first(physics: DamperPhysics) -> tuple[int, ...]:
    """All adjuster settings, the present one first, so that little time is lost where no click is needed."""
    start = physics.settings[physics.setting]

    def clicks(number: int) -> int:
        return sum(abs(at - start[name]) for name, at in physics.settings[number].items())

    return tuple(sorted(range(len(physics.settings)), key=clicks))


def _physics(damper: Damper, mounted: MountedStack, goal: Goal) -> DamperPhysics:
    return DamperPhysics(
        damper,
        stack_name=mounted.name,
        velocities=goal.velocities,
        temperature=None,
        steel=STEEL,
        wanted=goal.shares,
        spans=goal.spans,
    )


def _stacks_of(description: DamperDescription, stroke: Stroke) -> list[MountedStack]:
    """Stacks that oil lifts in a stroke: they open away from the chamber that shrinks in it."""
    damper = description.damper
    shrinks: dict[str, Stroke] = {
        chamber.name: "compression" if chamber.swept_area > 0 else "rebound" for chamber in damper.chambers
    }
    other: dict[Stroke, Stroke] = {"compression": "rebound", "rebound": "compression"}
    valve_of = {path.name: valve for valve in damper.valves for path in valve.paths}
    found = []
    for mounted in description.stacks:
        valve = valve_of[mounted.name]
        behind, ahead = valve.from_chamber, valve.to_chamber
        if mounted.path.direction < 0:
            behind, ahead = ahead, behind
        opens_in = shrinks[behind] if behind in shrinks else other[shrinks[ahead]]
        if opens_in == stroke:
            found.append(mounted)
    if not found:
        raise InputError(f"{description.name}: got no stack that opens in {stroke}, expected at least one.")
    return found
