"""The least work that makes a delivered damper suit: its clicks, then shims from the shelf."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from damping_model.stack.steel import SpringSteel
from damping_model.units import MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.damper_builder import damper_of
from optimiser.files.damper_file import DamperFile, StackSection
from optimiser.files.mountings import mounting_of, stack_of
from optimiser.intake.bands import Stroke
from optimiser.intake.goal_builder import BOTH_STROKES
from optimiser.intake.suits import ShimsNeeded
from optimiser.model.answer import Answer, Status
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal, Window
from optimiser.model.stock import Stock
from optimiser.search import solve

MAY_SHRINK, MAY_GROW = 0.4 * MILLIMETRE, 0.2 * MILLIMETRE
"""How far a stack's height may change, as in a job that says nothing else. [m]"""

STEEL = SpringSteel()


@dataclass(frozen=True, slots=True)
class Work:
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


def by_clicks(file: DamperFile, windows: Sequence[Window]) -> Mapping[str, int] | None:
    """Adjusters that have to be turned, and where to, to bring every window in; None when none do.

    Of several ways the one with the fewest clicks turned.
    """
    goal = Goal(tuple(windows), 0.0, math.inf)
    section = next(stack for valve in file.valve for stack in valve.stack)
    physics = _physics(file, section, goal)
    packed, start = physics.packed(stack_of(section)), physics.settings[physics.setting]

    def turned(setting: Mapping[str, int]) -> dict[str, int]:
        return {name: at for name, at in setting.items() if at != start[name]}

    fitting = []
    for number, setting in enumerate(physics.settings):
        forces = physics.forces(packed, number)
        if ((forces >= goal.lower * (1 - 1e-9)) & (forces <= goal.upper * (1 + 1e-9))).all():
            clicks = sum(abs(at - start[name]) for name, at in setting.items())
            fitting.append((clicks, number, turned(setting)))
    return min(fitting)[2] if fitting else None


def by_shims(file: DamperFile, windows: Sequence[Window], work: Work) -> ShimsNeeded:
    """Fewest shims changed, with the clicks where they help, that bring every window in.

    Each stroke by itself, and in one of its stacks; where both strokes want one adjuster in two places,
    nothing is found and nothing proven.
    """
    total, proven, settings = 0, True, list[Mapping[str, int]]()
    for stroke in BOTH_STROKES:
        ours = [window for window in windows if (window.velocities[0] > 0) is (stroke == "compression")]
        if not ours:
            continue
        answers = [_answer(file, section, ours, work) for section in _stacks_of(file, stroke)]
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
    start = {clicker.name: clicker.clicks_out for valve in file.valve for clicker in valve.clicker}
    turned = {name: at for one in settings for name, at in one.items() if at != start[name]}
    return ShimsNeeded(total, proven, turned)


def _answer(
    file: DamperFile, section: StackSection, windows: Sequence[Window], work: Work
) -> tuple[Answer, DamperPhysics]:
    stack = stack_of(section)
    goal = Goal(
        tuple(windows),
        max(stack.height - MAY_SHRINK, 0.0),
        min(stack.height + MAY_GROW, section.room_mm * MILLIMETRE),
    )
    physics = _physics(file, section, goal)
    answer = solve(
        physics,
        stack=stack,
        mounting=mounting_of(section),
        stock=work.stock,
        goal=goal,
        most_changes=work.most_changes,
        wanted=1,
        time_limit=work.time_limit,
        shim_settings=_nearest_first(physics),
        should_stop=work.should_stop,
        find_nearest=False,
    )
    return answer, physics


def _nearest_first(physics: DamperPhysics) -> tuple[int, ...]:
    """All adjuster settings, the present one first, so that little time is lost where no click is needed."""
    start = physics.settings[physics.setting]

    def clicks(number: int) -> int:
        return sum(abs(at - start[name]) for name, at in physics.settings[number].items())

    return tuple(sorted(range(len(physics.settings)), key=clicks))


def _physics(file: DamperFile, section: StackSection, goal: Goal) -> DamperPhysics:
    return DamperPhysics(
        damper_of(file),
        stack_name=section.name,
        velocities=goal.velocities,
        temperature=None,
        steel=STEEL,
        wanted=goal.shares,
    )


def _stacks_of(file: DamperFile, stroke: Stroke) -> list[StackSection]:
    """Stacks that oil lifts in a stroke: they open away from the chamber that shrinks in it."""
    shrinks = {chamber.name: chamber.shrinks_in for chamber in file.chamber}
    found = []
    for valve in file.valve:
        for section in valve.stack:
            behind = next(end for end in valve.between if end != section.opens_towards)
            away = shrinks.get(behind) or {"compression": "rebound", "rebound": "compression"}.get(
                shrinks.get(section.opens_towards, ""), ""
            )
            if away == stroke:
                found.append(section)
    if not found:
        raise InputError(f"{file.name}: got no stack that opens in {stroke}, expected at least one.")
    return found
