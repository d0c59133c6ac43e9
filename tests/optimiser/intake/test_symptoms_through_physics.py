"""Every complaint's goal, given to the physics of the stiff shop's dampers, moves what was complained of.

The plan here is the simplest one a tuner could make: of every single click and every single shim taken out or doubled,
the one that comes nearest to the goal. It needs no solver, so it judges the table and not the search.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_builder import read_damper
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.bands import Stroke
from optimiser.intake.complaint import Complaint, Symptom
from optimiser.intake.job_goal import Asked, goal_for
from optimiser.intake.machine import Rider
from optimiser.model import rank
from optimiser.model.damper_physics import DamperPhysics
from tests.helpers.paths import STIFF_SHOP

STEEL = SpringSteel()
DAMPERS = STIFF_SHOP / "dampers"
SITES = {
    "front": ("yaffle_fork.toml", {"compression": "base compression stack", "rebound": "rebound stack"}),
    "rear": ("tarn_shock.toml", {"compression": "compression stack", "rebound": "rebound stack"}),
}
MACHINE = read_toml(DAMPERS.parent / "bikes/oxlip_trail.toml", BikeFile, what="bike").machine()
RIDER = Rider("Ines", 74.0)
VOCABULARY = read_vocabulary()
ROWS = [
    pytest.param(row, end, id=f"{row.name}, {end}")
    for row in VOCABULARY.symptoms
    for end in SITES
    if row.end in {"either", end}
]


def single_steps(physics: DamperPhysics, stack: Stack) -> Iterator[tuple[Stack, int]]:
    """Everything that is one turn of the adjusters, or one shim taken out or doubled."""
    for setting in range(len(physics.settings)):
        yield stack, setting
    shims = stack.shims
    for place in range(len(shims)):
        yield replace(stack, shims=shims[: place + 1] + shims[place:]), physics.setting
        if place > 0:
            yield replace(stack, shims=shims[:place] + shims[place + 1 :]), physics.setting


def resisting(damper: Damper, velocities: NDArray[np.float64]) -> NDArray[np.float64]:
    return force_curve(damper, velocities=velocities, steel=STEEL).force_against_motion


@pytest.mark.parametrize(("row", "end"), ROWS)
def test_the_nearest_single_step_moves_the_right_band_of_the_right_stroke_the_right_way(
    row: Symptom, end: str
) -> None:
    file, stacks = SITES[end]
    damper = read_damper(DAMPERS / file).damper
    goal = goal_for(
        Asked(complaint=Complaint(symptom=row.name)),
        vocabulary=VOCABULARY,
        machine=MACHINE,
        rider=RIDER,
        sag=None,
        forces=lambda v: resisting(damper, v),
        least_height=0.0,
        most_height=1.0,
    ).goal
    targeted = len(goal.windows[0].velocities)
    physics = DamperPhysics(
        damper, stack_name=stacks[row.stroke], velocities=goal.velocities, temperature=None, steel=STEEL
    )

    def misfit(forces: NDArray[np.float64]) -> float:
        return rank.misfit(goal, forces)

    stack = damper.stack_path(stacks[row.stroke]).stack
    best = min(
        (physics.forces(physics.packed(option), setting) for option, setting in single_steps(physics, stack)),
        key=misfit,
    )
    change = best / goal.before - 1
    other_stroke = np.sign(goal.velocities) != np.sign(goal.velocities[0])
    assert np.sign(row.shift) * change[:targeted].mean() > abs(row.shift) / 3
    assert misfit(best) < 0.85 * misfit(goal.before)
    assert other_stroke.any()
    assert np.abs(change[other_stroke]).mean() < VOCABULARY.hold_tolerance


def test_the_table_names_strokes_that_a_damper_has() -> None:
    strokes: set[Stroke] = {row.stroke for row in VOCABULARY.symptoms}
    assert strokes == {"compression", "rebound"}
