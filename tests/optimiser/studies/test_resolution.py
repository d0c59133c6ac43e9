"""How fine a stack's steps are: the measures by hand, on the toy, and on the delivered damper of the stiff shop."""

from __future__ import annotations

from itertools import groupby, pairwise
from pathlib import Path

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.files.job_reader import read_job
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.stock import Stock
from optimiser.report.resolution_picture import resolution_svg
from optimiser.studies.refinement import Rung, held_part, ladder, rebuilt, rungs, single_pulls
from optimiser.studies.resolution import NEAR, BandSteps, single_steps
from optimiser.studies.single_changes import single_changes
from tests.helpers import toy
from tests.helpers.stiff_shop import lay_out

ROUNDING = 1e-9
"""Shares of the force that are none: a stack rebuilt as it was moves nothing but the last digits. [-]"""


def window(role: Role = Role.TARGET) -> Window:
    """A band of 100 N at one velocity that may move by 10 N."""
    return Window("band", role, (0.1,), (100.0,), (90.0,), (100.0,), (110.0,))


def test_the_smallest_steps_and_the_gaps_are_those_worked_out_by_hand() -> None:
    """Near zero the held steps and zero part 20 % into five pieces, the widest from -10 to -4 %."""
    band = BandSteps(window(), (-0.30, -0.04, -0.01, 0.02, 0.05, 0.40), (-0.30, -0.04, 0.02, 0.05, 0.40))
    assert band.up == 0.02
    assert band.down == -0.04
    assert band.mean_gap == pytest.approx(2 * NEAR / 5)
    assert band.widest_gap == pytest.approx(0.06)


def test_a_stack_without_steps_has_none_and_the_gap_is_all_there_is() -> None:
    """Zero is always there."""
    band = BandSteps(window(), (), ())
    assert (band.up, band.down) == (None, None)
    assert band.widest_gap == pytest.approx(NEAR)


def toy_goal(start: Stack) -> Goal:
    """Two bands, the first to rise by 8 %, each with a tolerance of 3 %."""
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(start), 0)
    return toy.goal(physics, start, desired=1.08 * before, tolerance=np.full(before.size, 0.03))


def test_every_single_change_is_a_step_and_held_are_those_that_leave_the_other_band_alone() -> None:
    """Against the same sums written out; the target counts as held where it is now, not where it is to go."""
    start = toy.stack((20, 0.2), (20, 0.2), (18, 0.15), (15, 0.1), (12, 0.2), (9, 0.3))
    physics, goal = toy.ToyPhysics(), toy_goal(start)
    stock = Stock({toy.key(18, 0.1): 1, toy.key(14, 0.15): 2})
    stacks = list(single_changes(start, mounting=toy.MOUNTING, stock=stock))
    found = single_steps(goal, changed=stacks, forces=lambda one: physics.forces(physics.packed(one), 0))
    before = physics.forces(physics.packed(start), 0)
    low, high = [], []
    for one in stacks:
        if not goal.least_height <= one.height <= goal.most_height:
            continue
        change = physics.forces(physics.packed(one), 0) / before - 1
        low.append(
            (toy.mean_by_hand(1 + change[:3], toy.VELOCITIES[:3]), bool((np.abs(change[3:]) <= 0.03).all()))
        )
        high.append(
            (toy.mean_by_hand(1 + change[3:], toy.VELOCITIES[3:]), bool((np.abs(change[:3]) <= 0.03).all()))
        )
    assert found.complete
    assert found.changes == len(low) > 20
    for band, expected in zip(found.bands, (low, high), strict=True):
        assert len(band.steps) > len(band.held) > 0
        moves = [shift for shift, _ in expected if abs(shift) > 1e-4]
        keeps = [shift for shift, held in expected if held and abs(shift) > 1e-4]
        assert band.up == pytest.approx(min(shift for shift in keeps if shift > 0))
        assert band.down == pytest.approx(max(shift for shift in keeps if shift < 0))
        assert (band.steps[0], band.steps[-1]) == pytest.approx((min(moves), max(moves)))
        assert all(two - one > 1e-4 for one, two in pairwise(band.steps))


def test_what_was_tried_by_then_stands_when_the_user_stops() -> None:
    """Seven of them, and it says that there are more."""
    start = toy.stack((20, 0.2), (18, 0.15), (12, 0.2), (9, 0.3))
    physics, asked = toy.ToyPhysics(), iter(range(100))
    found = single_steps(
        toy_goal(start),
        changed=single_changes(start, mounting=toy.MOUNTING, stock=Stock({toy.key(14, 0.15): 2})),
        forces=lambda one: physics.forces(physics.packed(one), 0),
        should_stop=lambda: next(asked) >= 7,
    )
    assert not found.complete
    assert 0 < found.changes <= 7


def test_one_shim_of_twice_the_thickness_bends_like_eight() -> None:
    """Bending stiffness goes with thickness cubed."""
    made = rebuilt(toy.stack((20, 0.2), (9, 0.3)), shims=9, mounting=toy.MOUNTING)
    assert made is not None
    assert [shim.thickness for shim in made.shims] == pytest.approx([0.1e-3] * 8 + [0.3e-3])


@pytest.mark.parametrize("shims", [6, 7, 12, 23, 46])
def test_every_pack_bends_as_before_and_crossovers_and_clamp_shims_stay(shims: int) -> None:
    """A crossover's height is a gap, which a rebuild must not move."""
    start = toy.stack((20, 0.1), (20, 0.15), (12, 0.1), (19, 0.2), (17, 0.15), (15, 0.1), (9, 0.3))
    made = rebuilt(start, shims=shims, mounting=toy.MOUNTING)
    assert made is not None
    assert len(made.shims) == shims

    def bending(stack: Stack) -> dict[float, float]:
        packs = groupby(stack.shims, key=lambda shim: shim.outer_diameter)
        return {outer: sum(shim.thickness**3 for shim in pack) for outer, pack in packs}

    assert bending(made) == pytest.approx(bending(start))
    assert start.shims[2] in made.shims
    assert made.shims[-1] == start.shims[-1]


def test_a_stack_is_not_rebuilt_from_fewer_shims_than_it_has_packs() -> None:
    """And the ladder does not ask for it."""
    start = toy.stack((20, 0.1), (20, 0.15), (17, 0.15), (15, 0.1), (9, 0.3))
    assert rebuilt(start, shims=3, mounting=toy.MOUNTING) is None
    assert rebuilt(start, shims=5, mounting=toy.MOUNTING) is start
    assert ladder(start, mounting=toy.MOUNTING) == (4, 5, 7, 23, 46, 70)


def test_a_pull_that_leaves_the_ports_open_is_left_out_and_the_clamp_shim_stays() -> None:
    """Only a second face shim may go; two alike count twice."""
    start = toy.stack((20, 0.1), (12, 0.15), (12, 0.15), (9, 0.3))
    assert [count for count, _ in single_pulls(start, mounting=toy.MOUNTING)] == [2]
    doubled = toy.stack((20, 0.1), (20, 0.1), (12, 0.15), (9, 0.3))
    assert [count for count, _ in single_pulls(doubled, mounting=toy.MOUNTING)] == [2, 1]


def setup_of(folder: Path, *, damper: str) -> JobSetup:
    """The job of story (a), with its held band, on another damper of the stiff shop."""
    lay_out(folder / "shop")
    job = folder / "shop" / "jobs" / "a_more_support.toml"
    job.write_text(job.read_text(encoding="utf-8").replace("tarn_shock", damper), encoding="utf-8")
    loaded = read_job(job)
    return set_up(loaded)


def rungs_of(setup: JobSetup) -> tuple[Rung, ...]:
    return rungs(setup.stack, goal=setup.asked.goal, forces=setup.computed_forces, mounting=setup.mounting)


def test_one_shim_of_23_moves_the_held_band_by_about_7_23rds_of_what_one_of_7_does(tmp_path: Path) -> None:
    """Common practice, no source; and finer still with 46 and 70. Held to a fifth of the rule.

    By the shims that bend, the clamp shim left out, it is 6/22, and closer to that.
    """
    by_shims = {rung.shims: rung for rung in rungs_of(setup_of(tmp_path, damper="dunnock_shock"))}
    assert {7, 23, 46, 70} <= by_shims.keys()
    coarse = by_shims[7]
    assert coarse.as_it_is
    assert coarse.moved == pytest.approx((0, 0), abs=1e-6)
    for shims in (23, 46, 70):
        share = by_shims[shims].pull / coarse.pull
        assert share == pytest.approx(7 / shims, rel=0.2)
        assert share == pytest.approx(6 / (shims - 1), rel=0.06)
    pulls = [rung.pull for _, rung in sorted(by_shims.items())]
    assert pulls == sorted(pulls, reverse=True)


def test_a_rebuild_of_equal_bending_moves_the_curve_the_more_the_further_the_stack_lifts(
    tmp_path: Path,
) -> None:
    """Stretching goes with thickness, not with its cube."""
    found = rungs_of(setup_of(tmp_path, damper="dunnock_shock"))
    finer = [rung for rung in found if rung.shims >= 7]
    for slow, fast in zip(*([rung.moved[band] for rung in finer] for band in (0, 1)), strict=True):
        assert fast >= slow - ROUNDING
    assert [rung.moved for rung in finer] == sorted(rung.moved for rung in finer)
    assert [rung.fits for rung in finer] == [True, True, False, False]


def test_a_rebuild_that_the_model_has_no_answer_for_is_left_out() -> None:
    """The others stay."""
    start = toy.stack((20, 0.2), (20, 0.2), (18, 0.15), (15, 0.1), (9, 0.3))
    physics, goal = toy.ToyPhysics(), toy_goal(start)

    def forces(one: Stack) -> toy.Floats:
        found = physics.forces(physics.packed(one), 0)
        return found if len(one.shims) < 23 else np.full_like(found, np.nan)

    found = rungs(start, goal=goal, forces=forces, mounting=toy.MOUNTING)
    assert len(ladder(start, mounting=toy.MOUNTING)) > len(found) > 0
    assert max(rung.shims for rung in found) < 23


def test_elsewhere_is_where_a_job_holds_and_the_target_only_where_it_holds_nothing() -> None:
    """The places of the velocities that the measure looks at."""
    start = toy.stack((20, 0.2), (18, 0.15), (9, 0.3))
    goal = toy_goal(start)
    (_, target), (_, hold) = goal.parts
    assert held_part(goal).tolist() == list(range(hold.start, hold.stop))
    alone = Goal(goal.windows[:1], goal.least_height, goal.most_height)
    assert held_part(alone).tolist() == list(range(target.start, target.stop))


def test_the_picture_names_the_bands_and_marks_the_stack_as_it_is() -> None:
    """The lower panel is there once there is something to compare."""
    start = toy.stack((20, 0.2), (20, 0.2), (18, 0.15), (15, 0.1), (9, 0.3))
    physics, goal = toy.ToyPhysics(), toy_goal(start)

    def forces(one: Stack) -> toy.Floats:
        return physics.forces(physics.packed(one), 0)

    steps = single_steps(
        goal, changed=single_changes(start, mounting=toy.MOUNTING, stock=Stock()), forces=forces
    )
    found = rungs(start, goal=goal, forces=forces, mounting=toy.MOUNTING)
    drawn = resolution_svg(steps, found, title="Steps & more")
    assert drawn.count("<svg") == 1
    for words in ("low", "high", "as it is", "shims in the stack", "Steps &amp; more"):
        assert f">{words}<" in drawn
    assert "shims in the stack" not in resolution_svg(steps, (), title="Steps")
