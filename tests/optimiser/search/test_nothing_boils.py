"""No answer calls a band kept, in range or proven where the oil would boil, on random dampers and goals."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from damping_model.damper.boiling import Allowance, Boiling
from damping_model.damper.damper import Damper
from damping_model.damper.force import boiling_between, force_curve
from damping_model.errors import ModelError
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.stack import Stack
from damping_model.vehicle.spring import ATMOSPHERE
from optimiser.errors import InputError
from optimiser.intake.bands import SIGN, HoldBand, Stroke, TargetBand
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.intake.promise import BeyondPromiseError, Change, within_promise
from optimiser.model.answer import Candidate
from optimiser.model.damper_description import with_stack
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.goal import Goal
from optimiser.model.problem import Problem
from optimiser.model.rules import Mounting
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import Control, Progress, climb, solve, survey
from optimiser.search.ladder import Ladder
from tests.helpers.counts import tries
from tests.helpers.random_dampers import random_damper

pytestmark = pytest.mark.usefixtures("few_drawn")

DENSE = 120
"""Velocities in each band at which an answer is judged."""


def of_whole_micrometres(damper: Damper) -> Damper:
    """The same damper with shims that a shelf can have."""
    for path in damper.stacks:
        shims = tuple(ShimKey.of(shim).shim for shim in path.stack.shims)
        damper = with_stack(damper, path.name, Stack(shims))
    return damper


def mounting_of(path: ShimValve, stack: Stack) -> Mounting:
    return Mounting(
        hole_diameter=stack.shims[-1].inner_diameter,
        port_outer_radius=path.port_outer_radius,
        seat_radius=path.seat.seat_radius,
        bore_radius=path.stack.shims[0].outer_diameter / 2 + 1e-3,
        clamp_diameter=stack.shims[-1].outer_diameter,
        most_height=20e-3,
    )


def shelf_of(rng: random.Random, stack: Stack) -> Stock:
    """Thicker and thinner shims of the stack's own diameters, much thicker ones among them."""
    counts = {}
    for shim in rng.sample(stack.shims, min(3, len(stack.shims))):
        key = ShimKey.of(shim)
        for thickness in rng.sample((50, 100, 200, 300, 500), 2):
            counts[key._replace(thickness=thickness)] = 2
    return Stock(counts)


class Asked:
    """A random damper whose gas is only just enough, and a random question about one of its stacks."""

    def __init__(self, seed: int) -> None:
        rng = random.Random(seed)
        damper = of_whole_micrometres(random_damper(seed))
        self.stroke: Stroke = rng.choice(("compression", "rebound"))
        low, fast = rng.uniform(0.03, 0.1), rng.uniform(0.5, 1.5)
        target = TargetBand(
            "low",
            self.stroke,
            low,
            3 * low,
            rng.uniform(0.02, 0.06),
            shift=rng.choice((-1, 1)) * rng.uniform(0.03, 0.2),
        )
        hold = HoldBand("high", self.stroke, 0.4 * fast, fast, rng.uniform(0.05, 0.3))
        span = SIGN[self.stroke] * 0.5 * low, SIGN[self.stroke] * fast
        found = boiling_between(replace(damper, gas_pressure=0.0), span)
        needed = max((one.gas_needed for one in found), default=0.0)
        self.damper = damper = replace(
            damper, gas_pressure=needed * rng.choice((0.3, 0.8, 1.0, 1.02, 1.1)) + 100.0
        )
        if not damper.stacks:
            raise InputError("got no stack to change, expected one")
        self.path = rng.choice(damper.stacks)
        self.shelf = shelf_of(rng, self.path.stack)

        def boils(stroke: Stroke, slow: float, quick: float, change: Change) -> Sequence[Boiling]:
            span = SIGN[stroke] * slow, SIGN[stroke] * quick
            allowance = Allowance(path=self.path.name, shares=change)
            return boiling_between(damper, span, allowance=allowance)

        targets, _ = within_promise([target], boils)
        holds, _ = within_promise([hold], boils)
        self.goal = goal_from_bands(
            targets=targets,
            holds=holds,
            familiarity=0.5,
            forces=lambda v: force_curve(damper, velocities=v).force_against_motion,
            familiar_strokes=(self.stroke,),
            least_height=0.0,
            most_height=15e-3,
            promised=lambda bands: within_promise(bands, boils)[0],
        )

    def answer(self) -> tuple[Ladder, DamperPhysics]:
        physics = DamperPhysics(
            self.damper,
            stack_name=self.path.name,
            velocities=self.goal.velocities,
            temperature=None,
            wanted=self.goal.shares,
            spans=self.goal.spans,
        )
        problem = Problem(
            physics=physics,
            stack=self.path.stack,
            mounting=mounting_of(self.path, self.path.stack),
            stock=self.shelf,
            goal=self.goal,
        )
        control: Control[Progress] = Control(cores=1, time_limit=6.0)
        known = survey(problem, most_changes=1, control=control)
        answer = solve(problem, most_changes=1, control=control, wanted=5, known=known)
        return climb(problem, answer, known=known, wanted=5), physics


def boils_inside(damper: Damper, goal: Goal, one: Candidate, clicks: dict[str, int], name: str) -> bool:
    """Whether oil boils at one of many velocities inside the bands, by the force curve alone."""
    changed = with_stack(damper, name, one.stack)
    for slow, fast in goal.spans:
        speeds = math.copysign(1.0, fast) * np.geomspace(abs(slow), abs(fast), DENSE)
        curve = force_curve(changed, velocities=speeds, clicks=clicks)
        lowest = curve.pressures[:-1].min() + ATMOSPHERE
        if lowest < damper.oil.vapour_pressure - 1.0:
            return True
    return False


@pytest.mark.parametrize("block", range(tries(quick=1, thorough=5)))
def test_no_listed_stack_nor_nearest_nor_setting_boils_inside_a_band(block: int) -> None:
    counts = {"answers": 0, "judged": 0, "left out": 0, "remedy first": 0, "no question": 0}
    for seed in range(20 * block, 20 * block + tries(quick=4, thorough=20)):
        try:
            asked = Asked(seed)
            (answer, rungs), physics = asked.answer()
        except BeyondPromiseError:
            counts["remedy first"] += 1
            continue
        except (InputError, ModelError):
            counts["no question"] += 1
            continue
        counts["answers"] += 1
        left = answer.left_out + answer.nearer_left_out
        counts["left out"] += left.boiling
        shown = [*answer.candidates, *filter(None, (answer.nearest, *(rung.best for rung in rungs)))]
        for one in shown:
            clicks = dict(physics.settings[one.setting])
            assert not boils_inside(asked.damper, asked.goal, one, clicks, asked.path.name), seed
            counts["judged"] += 1
    assert counts["answers"] >= 3
    assert counts["left out"] > 0 or block > 0
