"""Drawn dampers with several changed stacks, and with other parts, against the whole model asked for each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.flow.oil import iso_vg
from damping_model.stack.stack import Stack
from optimiser.files.job_reader import read_job
from optimiser.jobs.how_sure import drawn_forces, drawn_swap, known_of, present_of
from optimiser.jobs.setup import JobSetup, set_up, with_other_parts
from optimiser.model.edits import difference
from optimiser.model.other_parts import PartChange, PartKind
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.drawn_swap import NEW_PART
from optimiser.unknowns.unknown import Owner
from optimiser.unknowns.varied import varied
from tests.helpers.counts import tries
from tests.helpers.paths import DEMO

NEAR = 6e-3
"""Interpolated lifts are as near to the whole model in every draw, as a share of the force. [-]"""


def fork() -> JobSetup:
    return set_up(replace(read_job(DEMO / "at_hand" / "fork_oil.toml"), at_hand=()))


def test_two_stacks_changed_at_once_are_drawn_as_the_whole_model_has_them() -> None:
    """In both strokes: each stack has its say in one."""
    setup = fork()
    damper, clicks = setup.job.damper.damper, setup.physics.settings[setup.physics.setting]
    velocities = np.array([0.1, 0.8, -0.1, -0.8])
    directions = Directions.of(known_of(setup, across=True))
    drawn = DrawnForces(
        damper,
        stack_name=setup.mounted.name,
        velocities=velocities,
        settings=(clicks,),
        directions=directions,
    )
    other = setup.job.damper.stack_named("rebound stack", where="")
    places = {setup.mounted.name: setup.stack, other.name: other.stack}
    new = {name: Stack((stack.shims[0], *stack.shims)) for name, stack in places.items()}
    build = Built(new[setup.mounted.name], 0, ((other.name, new[other.name]),))
    steps = directions.sample(tries(quick=3, thorough=25), np.random.default_rng(5))
    quick = np.exp(drawn.logs(steps, [Built(setup.stack, 0), build]))
    assert (quick[:, 1, 1::2] > 1.02 * quick[:, 0, 1::2]).all()
    for row, step in enumerate(steps):
        moved = varied(damper, directions.draws(dict(enumerate(step))))
        for name, stack in new.items():
            comes = difference(places[name], stack).put_in
            moved = replace(moved, damper=moved.with_stack(name, stack, stays=_not_in(comes)))
        whole = force_curve(
            moved.damper, velocities=velocities, steel=moved.steel, clicks=clicks
        ).force_against_motion
        assert quick[row, 1] == pytest.approx(whole, rel=NEAR)


def _not_in(comes: Sequence[int]) -> Callable[[int], bool]:
    return lambda place: place not in comes


def test_another_oil_has_an_error_of_its_own_and_all_else_is_the_same_damper() -> None:
    setup = fork()
    was, to = setup.job.damper.damper.oil, iso_vg(22, density_15=setup.job.damper.damper.oil.density_15)
    change = PartChange(kind=PartKind.OIL, name="", was=was, to=to, time=1800.0)
    other = with_other_parts(setup, (change,))
    forces = drawn_swap(setup, other)
    own = drawn_forces(setup).directions
    assert len(forces.directions) == len(own) + 1
    assert forces.directions.unknowns[-1].words.endswith(NEW_PART)
    steps = forces.directions.sample(tries(quick=3, thorough=25), np.random.default_rng(6))
    built = Built(other.stack, other.physics.setting)
    quick = np.exp(forces.logs(steps, [present_of(setup, before=True), built]))
    for row, step in enumerate(steps):
        before = own.draws(dict(enumerate(step[: len(own)])))
        after = {
            unknown: step[-1] if unknown.owner is Owner.OIL else draw for unknown, draw in before.items()
        }
        for place, (damper, draws) in enumerate(
            ((setup.job.damper.damper, before), (other.job.damper.damper, after))
        ):
            moved = varied(damper, draws)
            whole = force_curve(
                moved.damper,
                velocities=setup.asked.goal.velocities,
                temperature=None,
                steel=moved.steel,
                clicks=setup.physics.settings[setup.physics.setting],
            ).force_against_motion
            assert quick[row, place] == pytest.approx(whole, rel=NEAR)
