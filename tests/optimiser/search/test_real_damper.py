"""On a real damper of the demo shop, brute force over a cut-down shelf finds nothing that the search does not."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.files.damper_builder import read_damper
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.model import certificate as check
from optimiser.model import rank
from optimiser.model.answer import Status
from optimiser.model.damper_physics import DamperPhysics
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import Problem, solve
from tests.helpers import brute_force
from tests.helpers.counts import some_of

SHELF = Stock(
    {
        ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=8): count
        for outer, thickness, count in (
            (20, 0.10, 2),
            (20, 0.15, 1),
            (17, 0.10, 2),
            (17, 0.20, 1),
            (14, 0.10, 1),
        )
    }
)


FORCES: dict[brute_force.Name, NDArray[np.float64] | None] = {}
"""Of stacks that were tried, None where oil would boil; all goals here ask at the same velocities."""


def problem_of(shift: float, tolerance: float, hold: float) -> Problem:
    described = read_damper(Path(str(files("inventory_demo"))) / "dampers" / "dunnock_shock.toml")
    mounted = described.stack_named("compression stack", where="test")
    damper, stack = described.damper, mounted.stack
    goal = goal_from_bands(
        targets=[TargetBand("low", "compression", 0.06, 0.15, tolerance, shift=shift)],
        holds=[HoldBand("high", "compression", 0.6, 1.4, hold)],
        familiarity=None,
        forces=lambda v: force_curve(damper, velocities=v).resisting_force,
        least_height=stack.height - 0.2e-3,
        most_height=stack.height + 0.2e-3,
    )
    physics = DamperPhysics(
        damper,
        stack_name=mounted.name,
        velocities=goal.velocities,
        temperature=None,
        steel=SpringSteel(),
        spans=goal.spans,
    )
    return Problem(physics=physics, stack=stack, mounting=mounted.mounting, stock=SHELF, goal=goal)


@pytest.mark.parametrize(
    ("shift", "tolerance", "hold"),
    some_of(
        [
            pytest.param(0.60, 0.02, 0.01, id="out of reach"),
            pytest.param(0.06, 0.03, 0.04, id="a little more"),
            pytest.param(-0.15, 0.03, 0.10, id="less"),
        ],
        every=2,
    ),
)
def test_the_search_agrees_with_brute_force_on_real_physics(
    shift: float, tolerance: float, hold: float
) -> None:
    problem = problem_of(shift, tolerance, hold)
    physics, stack, mounting, goal = problem.physics, problem.stack, problem.mounting, problem.goal
    rules = problem.required_rules
    answer = solve(problem, most_changes=2, wanted=3)
    assert check.faults(answer, problem) == ()

    costs = brute_force.within(stack, SHELF, 2)
    have = brute_force.at_hand(stack, SHELF)
    names = [n for n in costs if brute_force.buildable(n, have, goal, mounting, rules)]
    assert len(names) > 100
    least: int | None = None
    first, nearest = np.inf, np.inf
    for name in names:
        if name not in FORCES:
            made = Stack(tuple(key.shim for key in name))
            plates = physics.packed(made)
            whole = physics.objection(made, physics.setting) is None
            FORCES[name] = physics.forces(plates, physics.setting) if whole else None
        forces = FORCES[name]
        if forces is None:
            continue
        misfit = rank.misfit(goal, forces)
        nearest = min(nearest, misfit)
        if misfit == 0:
            error = rank.target_error(goal, forces)
            if least is None or (costs[name], error) < (least, first):
                least, first = costs[name], error

    if least is None:
        assert answer.status is Status.PROVEN_IMPOSSIBLE
        assert answer.nearest is not None
        assert answer.nearest.misfit <= nearest * (1 + 1e-6)
    else:
        assert answer.status is Status.PROVEN_LEAST
        assert len(answer.candidates[0].changes) == least
        assert answer.proven_too_few == least - 1
        assert answer.candidates[0].target_error <= first * (1 + 1e-6)
