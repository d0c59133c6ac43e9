"""Stacks with a chance: the fewest changes by the search are those by trying everything."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest

from damping_model.damper.damper import Damper
from optimiser.files.damper_builder import read_damper
from optimiser.model.answer import Status
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.objection import Objection
from optimiser.search import Control, solve
from optimiser.spread.confident_physics import ConfidentPhysics
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.enough_chance import EnoughChance
from optimiser.spread.limits import band_limits
from optimiser.spread.model_uncertainty import ModelUncertainty
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Knowledge
from tests.helpers.counts import tries
from tests.helpers.paths import STIFF_SHOP
from tests.helpers.real_goals import TARGETS, TWO_CHANGES, InReach, in_reach
from tests.helpers.whole_model import WholeModel

PLACES = ("taper", "wide taper") * 7 + ("two stages",)
JOBS = tries(quick=1, thorough=30)
LEVEL = 0.9
MODEL = ModelUncertainty()
NEVER_BY_ACCIDENT = 0.02
"""Six standard deviations of a chance near the level from one sample of 8,192 to another."""


class Case(NamedTuple):
    """A goal that some stacks meet, most of them not in every damper."""

    reach: InReach
    damper: Damper
    name: str
    goal: Goal
    directions: Directions
    forces: DrawnForces


def case(number: int) -> Case:
    place = TWO_CHANGES[PLACES[number % len(PLACES)]]
    reach, rng = in_reach(place, 2), np.random.default_rng(number)
    described = read_damper(STIFF_SHOP / "dampers" / f"{place.damper}.toml").with_stack(
        place.name, reach.problem.stack
    )
    planted = [one for one in reach.stacks if one.changes]
    wanted = planted[rng.integers(len(planted))].forces
    before, velocities = reach.problem.goal.before, reach.problem.goal.velocities
    width = rng.uniform(0.01, 0.05) * before
    windows = tuple(
        Window(
            name,
            role,
            *(tuple(one[part]) for one in (velocities, before, wanted - width, wanted, wanted + width)),
        )
        for name, role, part in (
            ("low", Role.TARGET, slice(TARGETS)),
            ("high", Role.HOLD, slice(TARGETS, None)),
        )
    )
    goal = Goal(windows, reach.problem.stack.height - 1e-3, reach.problem.stack.height + 1e-3)
    comes = {key.shim.thickness for key in reach.problem.stock.counts}
    directions = Directions.of(Knowledge.prior(damper_unknowns(described, comes=comes)))
    forces = DrawnForces(
        described.damper,
        stack_name=place.name,
        velocities=velocities,
        settings=reach.problem.physics.settings,
        directions=directions,
    )
    return Case(reach, described.damper, place.name, goal, directions, forces)


def chances_of(one: Case, *, seed: int, level: float = LEVEL) -> EnoughChance:
    present = Built(one.reach.problem.stack, one.reach.problem.physics.setting)
    return EnoughChance(
        one.forces, one.goal, present=present, level=level, model_uncertainty=MODEL, seed=seed
    )


def in_the_whole_model(one: Case, built: Built, draws: int) -> int:
    """In how many of so many dampers, each computed by itself, all limits hold."""
    whole = WholeModel(
        one.damper,
        stack_name=one.name,
        velocities=one.goal.velocities,
        settings=one.reach.problem.physics.settings,
    )
    rng = np.random.default_rng(99)
    steps = one.directions.sample(draws, rng, further=MODEL.draws)
    own = steps[:, : len(one.directions)]
    factors = MODEL.factors(one.goal.velocities, steps[:, len(one.directions) :])
    present = Built(one.reach.problem.stack, one.reach.problem.physics.setting)
    logs = np.array(
        [whole.forces(one.directions.draws(dict(enumerate(row))), [present, built]) for row in own]
    )
    changes = (logs[:, 1] - logs[:, 0]) * factors
    return int(np.all([limit.missed_by(changes) == 0 for limit in band_limits(one.goal)], axis=0).sum())


@pytest.mark.parametrize("number", range(JOBS))
def test_nothing_with_fewer_changes_has_the_chance_and_what_is_found_has_it_on_fresh_draws(
    number: int,
) -> None:
    one = case(number)
    problem = replace(one.reach.problem, goal=one.goal)
    setting = problem.physics.setting
    asked = replace(problem, physics=ConfidentPhysics(problem.physics, one.goal, chances_of(one, seed=1)))
    answer = solve(asked, most_changes=2, control=Control(cores=1), wanted=2, find_nearest=False)
    fresh = chances_of(one, seed=2)
    limits, before = band_limits(one.goal), one.goal.before
    fewest = 3
    if answer.candidates:
        assert answer.status is Status.PROVEN_LEAST
        best = answer.candidates[0]
        fewest = len(best.changes)
        found = Built(best.stack, best.setting)
        assert fresh.chance(found, 8192) > LEVEL - NEVER_BY_ACCIDENT / 4
        draws = tries(quick=20, thorough=60)
        kept = in_the_whole_model(one, found, draws)
        assert kept > draws * LEVEL - 3.1 * np.sqrt(draws * LEVEL * (1 - LEVEL))  # one in a thousand
    else:
        assert answer.status is Status.PROVEN_IMPOSSIBLE
    for stack in one.reach.stacks:
        changes = np.log(stack.forces / before)
        kept_as_filed = all(limit.missed_by(changes) == 0 for limit in limits)
        if kept_as_filed and 0 < stack.changes < fewest:
            if fresh.chance(Built(stack.stack, setting), 512) < LEVEL - 0.12:
                continue  # clear from few draws
            chance = fresh.chance(Built(stack.stack, setting), 8192)
            assert chance < LEVEL + NEVER_BY_ACCIDENT, stack


def test_a_chance_that_is_clear_from_few_draws_costs_few() -> None:
    one = case(0)
    sure = chances_of(one, seed=1, level=0.5)
    left = Built(one.reach.problem.stack, one.reach.problem.physics.setting)
    assert sure.chance(left, 64) in {0.0, 1.0}  # nothing moves, whatever the damper is like
    planted = max(
        (stack for stack in one.reach.stacks if stack.changes), key=lambda stack: stack.forces.max()
    )
    assert not sure.enough(Built(planted.stack, left.setting))
    assert set(sure._samples) == {64, 512}
    assert sure.asked == 1


def test_a_stack_that_misses_the_goal_as_it_is_is_not_asked_for_its_chance() -> None:
    one = case(0)
    asked = chances_of(one, seed=1, level=0.99)
    physics = ConfidentPhysics(one.reach.problem.physics, one.goal, asked)
    limits, before = band_limits(one.goal), one.goal.before
    for stack in one.reach.stacks[:40]:
        kept_as_filed = all(limit.missed_by(np.log(stack.forces / before)) == 0 for limit in limits)
        objection = physics.objection(stack.stack, physics.setting)
        assert objection in {None, Objection.UNSURE}
        assert kept_as_filed or objection is None
    assert asked.asked <= 40
