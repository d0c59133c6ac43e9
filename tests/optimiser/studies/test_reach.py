"""How far a band goes, against every stack there is, on dampers small enough to try them all."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model import certificate as check
from optimiser.model import rank
from optimiser.model.answer import Answer, Effort, Status
from optimiser.model.edits import difference
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.rules import rules_for, violations
from optimiser.model.stock import Stock
from optimiser.search import Control
from optimiser.studies.reach import Reach, ReachProgress, reach
from tests.helpers import brute_force, toy
from tests.helpers.counts import some_of, thorough_only, tries

pytestmark = pytest.mark.usefixtures("few_drawn")

BANDS = {"low": slice(0, 3), "high": slice(3, 6)}


def job(
    seed: int, *, shims: int, types: int, physics: toy.ToyPhysics | None = None
) -> tuple[toy.ToyPhysics, Stack, Stock, Goal]:
    """A random stack that keeps the rules, a cut-down shelf, and a target beside a held band."""
    rng = np.random.default_rng(seed)
    physics = physics or toy.ToyPhysics()
    while True:
        start = toy.random_stack(rng, shims)
        if not violations(rules_for(start, toy.MOUNTING), start, toy.MOUNTING):
            break
    before = physics.forces(physics.packed(start), physics.setting)
    tolerance = np.repeat(rng.uniform(0.02, 0.12, size=2), 3)
    goal = toy.goal(physics, start, desired=before * 1.1, tolerance=tolerance)
    return physics, start, toy.random_stock(rng, types), goal


def reach_of(asked: tuple[toy.ToyPhysics, Stack, Stock, Goal], **options: Any) -> Reach:
    physics, start, stock, goal = asked
    return reach(toy.problem(physics, start, stock, goal), **options)


def tolerance_by_hand(goal: Goal, band: str) -> float:
    window = next(window for window in goal.windows if window.name == band)
    return (window.upper[0] - window.desired[0]) / window.before[0]


def by_brute_force(
    asked: tuple[toy.ToyPhysics, Stack, Stock, Goal], *, changes: int
) -> dict[tuple[str, int], tuple[float, float]]:
    """Least and most average shift of each band for every number of changes, the other band held."""
    physics, start, stock, goal = asked
    rules, before, have = rules_for(start, toy.MOUNTING), goal.before, brute_force.at_hand(start, stock)
    shifts: dict[tuple[str, int], list[float]] = {}
    for name in brute_force.within(start, stock, changes):
        if not brute_force.buildable(name, have, goal, toy.MOUNTING, rules):
            continue
        made = Stack(tuple(key.shim for key in name))
        count = difference(start, made).changes
        if count > changes:
            continue
        moved = physics.forces(physics.packed(made), physics.setting) / before - 1
        for band, other in (("low", "high"), ("high", "low")):
            if np.abs(moved[BANDS[other]]).max() <= tolerance_by_hand(goal, other) + 1e-12:
                for number in range(count, changes + 1):
                    shift = toy.mean_by_hand(1 + moved[BANDS[band]], toy.VELOCITIES[BANDS[band]])
                    shifts.setdefault((band, number), []).append(shift)
    return {key: (min(found), max(found)) for key, found in shifts.items()}


def agrees_with_brute_force(asked: tuple[toy.ToyPhysics, Stack, Stock, Goal], *, changes: int) -> int:
    """Compare every end, and count the ends that shims move."""
    found, expected = reach_of(asked, most_changes=changes), by_brute_force(asked, changes=changes)
    assert found.stopped is None
    moved = 0
    for band in found.bands:
        for extent in band.extents:
            least, most = expected[band.window.name, extent.changes]
            assert extent.least.shift == pytest.approx(least, abs=2e-9)
            assert extent.most.shift == pytest.approx(most, abs=2e-9)
            assert extent.least.proven
            assert extent.most.proven
            moved += (least < -1e-6) + (most > 1e-6)
    assert faults(found, asked) == []
    return moved


def faults(found: Reach, asked: tuple[toy.ToyPhysics, Stack, Stock, Goal]) -> list[str]:
    """What a judge that knows no search finds wrong with the stacks, their forces and their figures."""
    physics, start, stock, goal = asked
    wrong: list[str] = []
    for band in found.bands:
        windows = tuple(held_or_open(window, window.name == band.window.name) for window in goal.windows)
        for extent in band.extents:
            for end in (extent.least, extent.most):
                answer = Answer(Status.BEST_SO_FAR, (end.candidate,), -1, 4, None, False, Effort(0, 0, 0))
                held = toy.problem(physics, start, stock, replace(goal, windows=windows))
                wrong += check.faults(answer, held)
                if len(end.candidate.changes) > extent.changes:
                    wrong.append("more changes than were allowed")
                forces = np.array(end.candidate.forces)[BANDS[band.window.name]]
                shift = toy.mean_by_hand(forces / band.window.before, band.window.velocities)
                if abs(shift - end.shift) > 1e-12:
                    wrong.append("the shift is not that of the forces")
    return wrong


def held_or_open(window: Window, moved: bool) -> Window:
    before, desired = np.array(window.before), np.array(window.desired)
    width = np.array(window.upper) - desired
    if moved:
        return replace(window, role=Role.SHOWN, lower=(-np.inf,) * before.size, upper=(np.inf,) * before.size)
    return replace(
        window,
        role=Role.HOLD,
        lower=tuple(before - width),
        desired=window.before,
        upper=tuple(before + width),
    )


def test_one_change_agrees_with_brute_force() -> None:
    """16 random jobs of 5 to 8 shims, four ends each; 4 jobs in a quick run."""
    jobs = tries(quick=4, thorough=16)
    moved = sum(
        agrees_with_brute_force(job(seed, shims=5 + seed % 4, types=4), changes=1) for seed in range(jobs)
    )
    assert moved > 2 * jobs


@thorough_only("one change is tried in a quick run, and two by the search itself")
@pytest.mark.parametrize("block", range(3))
def test_two_changes_agree_with_brute_force(block: int) -> None:
    """15 random jobs, small enough that every stack within two changes can be tried."""
    seeds = range(1000 + 5 * block, 1005 + 5 * block)
    moved = sum(agrees_with_brute_force(job(seed, shims=4, types=2), changes=2) for seed in seeds)
    assert moved > 10


def test_without_a_change_every_click_is_tried_and_nothing_else() -> None:
    """Each click takes 4 % everywhere, so a band held to 9 % allows two of them and no third."""
    physics = toy.ToyPhysics(settings=tuple({"rebound": click} for click in range(6)), setting=2)
    start = toy.stack((20, 0.2), (18, 0.2), (9, 0.3))
    before = physics.forces(physics.packed(start), 2)
    goal = toy.goal(physics, start, desired=before * 1.1, tolerance=np.full(6, 0.09))
    for band in reach_of((physics, start, Stock(), goal), most_changes=0).bands:
        (extent,) = band.extents
        assert (extent.least.candidate.setting, extent.most.candidate.setting) == (4, 0)
        assert extent.least.shift == pytest.approx((1 - 0.16) / (1 - 0.08) - 1)
        assert extent.most.shift == pytest.approx(1 / (1 - 0.08) - 1)
        assert extent.least.candidate.changes == extent.most.candidate.changes == ()
        assert extent.least.proven
        assert extent.most.proven


def test_more_changes_never_reach_less() -> None:
    """Clicks included: what they reach alone is reached with shims allowed too."""
    physics = toy.ToyPhysics(settings=({"rebound": 0}, {"rebound": 1}, {"rebound": 2}), setting=1)
    for seed in range(tries(quick=1, thorough=4)):
        for band in reach_of(job(seed, shims=4, types=2, physics=physics), most_changes=2).bands:
            assert [extent.changes for extent in band.extents] == [0, 1, 2]
            least = [extent.least.shift for extent in band.extents]
            most = [extent.most.shift for extent in band.extents]
            assert least == sorted(least, reverse=True)
            assert most == sorted(most)
            assert least[0] <= 0 <= most[0]


def test_a_time_limit_proves_nothing_and_keeps_what_stands() -> None:
    """No time at all leaves the clicks, which are proven, and changes of shims, which are not."""
    found = reach_of(job(14, shims=12, types=4), most_changes=2, control=Control(time_limit=0.0))
    assert found.stopped is Status.BEST_SO_FAR
    for band in found.bands:
        assert [extent.least.proven for extent in band.extents] == [True, False, False]
        assert [extent.most.proven for extent in band.extents] == [True, False, False]
        assert len({extent.most.shift for extent in band.extents}) == 1


@pytest.mark.parametrize("limit", [0.02, 0.1, 0.3])
def test_what_a_time_limit_leaves_proven_is_what_unlimited_time_finds(limit: float) -> None:
    """Ends called proven are the true ones; the others lie inside."""
    asked = job(14, shims=8, types=4)
    free, short = (
        reach_of(asked, most_changes=1),
        reach_of(asked, most_changes=1, control=Control(time_limit=limit)),
    )
    for whole, part in zip(free.bands, short.bands, strict=True):
        for true, got in zip(whole.extents, part.extents, strict=True):
            assert got.least.shift >= true.least.shift - 1e-9
            assert got.most.shift <= true.most.shift + 1e-9
            assert not got.least.proven or got.least.shift == pytest.approx(true.least.shift, abs=2e-9)
            assert not got.most.proven or got.most.shift == pytest.approx(true.most.shift, abs=2e-9)
    assert faults(short, asked) == []


def test_an_interruption_gives_what_stands() -> None:
    """At several moments; what is not reached any more is the best of fewer changes, unproven."""
    asked = job(14, shims=12, types=4)
    for moment in some_of(range(0, 120, 30), every=2):
        calls = iter(range(10**6))
        found = reach_of(asked, most_changes=2, control=Control(should_stop=lambda: next(calls) >= moment))  # noqa: B023
        assert found.stopped is Status.INTERRUPTED
        assert len(found.bands) == 2
        last = found.bands[-1].extents[-1]
        assert (last.least.proven, last.most.proven) == (False, False)
        assert faults(found, asked) == []


def test_where_the_model_has_no_answer_nothing_is_proven() -> None:
    """A click at which the model finds no equilibrium may reach further than those that it knows."""

    class Silent(toy.ToyPhysics):
        def forces(self, plates: PackedStack, setting: int) -> toy.Floats:
            if setting == 1:
                raise ModelError("no equilibrium")
            return super().forces(plates, setting)

    physics = Silent(settings=({"rebound": 0}, {"rebound": 1}))
    asked = job(3, shims=4, types=2, physics=physics)
    assert not any(
        end.proven
        for band in reach_of(asked, most_changes=1).bands
        for extent in band.extents
        for end in (extent.least, extent.most)
    )
    physics.setting = 1
    with pytest.raises(InputError, match="no equilibrium for the stack in the damper"):
        reach_of(asked, most_changes=0)


def test_only_the_bands_that_are_asked_for_are_moved() -> None:
    asked, told = job(5, shims=5, types=3), list[ReachProgress]()
    (band,) = reach_of(asked, most_changes=1, bands=[1], control=Control(progress=told.append)).bands
    assert band.window.name == "high"
    assert {(one.band, one.changes) for one in told} == {("high", 1)}
    assert {one.side for one in told} == {-1, 1}


def test_a_held_band_keeps_its_own_tolerance_though_a_limit_cut_one_side_of_it() -> None:
    """A target of +10 % within 6 %, cut at +12 %, is held to 6 % and not to 2 %."""
    physics, start, stock, goal = job(6, shims=5, types=4)
    before, desired = np.array(goal.windows[0].before), np.array(goal.windows[0].desired)
    cut = replace(
        goal.windows[0],
        lower=tuple(desired - 0.06 * before),
        upper=tuple(np.minimum(desired + 0.06 * before, 1.12 * before)),
    )
    found = reach_of((physics, start, stock, replace(goal, windows=(cut, goal.windows[1]))), most_changes=0)
    assert found.bands[0].tolerance == pytest.approx(0.06)
    assert rank.half_widths(replace(goal, windows=(found.bands[0].window,))) == pytest.approx(0.06 * before)
