"""Compiling ahead of the work."""

import subprocess
import sys

from tests.helpers.counts import thorough_only
from tests.helpers.paths import ROOT

COMPILES_NOTHING_MORE = """
import numpy as np
from damping_model.flow.flow_kernel import drops_for_flows, face_pressures
from damping_model.flow.lift_kernel import shifts_of
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import set_up
from optimiser.model.stock import Stock
from optimiser.search import Control, solve
from optimiser.search.kernel.extremes import softest_plates, stiffest_plates
from optimiser.search.kernel.presence import makes_a_stack
from optimiser.search.kernel.selection import most_promising
from optimiser.search.kernel.sets import allowed_sets, figures_of_sets, rising_sets
from optimiser.search.kernel.sums import not_far_off, sums_of_ways
from optimiser.search.kernel.weight import weight_of
from optimiser.search.warm_up import warm_up_with_physics
from tests.helpers import toy
from tests.helpers.paths import STIFF_SHOP

warm_up_with_physics()
entries = (
    makes_a_stack, stiffest_plates, softest_plates, weight_of, most_promising, allowed_sets, figures_of_sets,
    rising_sets, sums_of_ways, not_far_off, drops_for_flows, face_pressures, shifts_of,
)
before = [tuple(one.signatures) for one in entries]
assert all(before), before

physics = toy.ToyPhysics()
start = toy.stack((20, 0.2), (20, 0.2), (18, 0.15), (15, 0.1), (12, 0.2), (9, 0.3))
forces = physics.forces(physics.packed(start), 0)
answer = solve(
    toy.problem(
        physics,
        start,
        Stock({toy.key(18, 0.1): 1, toy.key(14, 0.15): 2}),
        toy.goal(physics, start, desired=1.5 * forces, tolerance=np.full(forces.size, 0.01)),
    ),
    most_changes=2,
    control=Control(cores=1),
)
assert answer.effort.families > 0
setup = set_up(read_job(STIFF_SHOP / "jobs" / "b_clicks_do.toml"))
packed = setup.physics.packed(setup.problem.stack)
assert np.isfinite(setup.physics.coarse_forces(packed, setup.physics.setting)).all()
assert before == [tuple(one.signatures) for one in entries]
"""


@thorough_only("searches in a process of its own")
def test_a_search_and_a_stack_s_forces_compile_nothing_more_once_all_is_warmed_up() -> None:
    """In a process of its own, since other tests compile too."""
    subprocess.run([sys.executable, "-c", COMPILES_NOTHING_MORE], check=True, cwd=ROOT)
