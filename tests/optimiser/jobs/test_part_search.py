"""Oil, gas, bleeds and rings beside shims: every combination against trying everything with real physics."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from damping_model.damper.damper import Damper
from damping_model.damper.force import boiling_between, force_curve
from damping_model.flow.oil import Oil, iso_vg
from damping_model.flow.paths import Bleed
from damping_model.stack.stack import Stack
from damping_model.stack.steel import SpringSteel
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from optimiser.files.job_reader import read_job
from optimiser.jobs.job import Job
from optimiser.jobs.part_problem import OVERSTRESSED, OneStack
from optimiser.jobs.part_search import WithParts, combinations, with_parts_at_hand
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.model import rank
from optimiser.model.damper_answer import WorkTimes
from optimiser.model.damper_description import with_stack
from optimiser.model.other_parts import AtHand, PartKind, ring_places
from optimiser.model.stock import ShimKey, Stock
from optimiser.model.stress import StressRule
from optimiser.search import Control, solve
from tests.helpers import brute_force
from tests.helpers.counts import thorough_only, tries
from tests.helpers.paths import STIFF_SHOP
from tests.helpers.real_goals import ONE_CHANGE

OILS = (iso_vg(7, density_15=858.0), iso_vg(22, density_15=858.0))
HOLES = (1.0e-3,)
SHELF = Stock({ShimKey(17000, 150, 8000): 1, ShimKey(20000, 200, 8000): 1, ShimKey(14000, 100, 8000): 2})
MINUTE = 60.0


def job(shift: float, *, band: float = 0.03) -> Job:
    """The delivered shock, with two oils and a finer bleed at hand and few shims; stress is no matter here."""
    asked = read_job(STIFF_SHOP / "jobs" / "g_too_coarse.toml")
    (target,) = asked.asked.targets
    work = replace(
        asked.work,
        stress=StressRule(limit=1e9, reason="left out of this comparison"),
        times=WorkTimes(opening=20 * MINUTE, change=5 * MINUTE),
    )
    return replace(
        asked,
        asked=replace(asked.asked, targets=(replace(target, shift=shift, tolerance=band),)),
        work=work,
        stock=SHELF,
        at_hand=(
            AtHand(kind=PartKind.OIL, name="", choices=OILS, time=30 * MINUTE),
            AtHand(kind=PartKind.BLEED, name="base hole", choices=HOLES, time=10 * MINUTE),
        ),
    )


def searched(setup: JobSetup) -> WithParts[OneStack]:
    plain = solve(setup.problem, most_changes=1, find_nearest=False)
    chosen = plain.candidates[0] if plain.candidates else None
    return with_parts_at_hand(OneStack(setup), plain=plain, chosen=chosen, control=Control())


def dampers(damper: Damper) -> Iterator[tuple[float, bool, Damper]]:
    """Minutes of parts, whether a valve is opened for them, and the damper: built by hand."""
    oils: list[Oil | None] = [None, *OILS]
    for oil, hole in product(oils, [None, *HOLES]):
        changed = damper if oil is None else replace(damper, oil=oil)
        if hole is not None:
            valves = [
                replace(
                    valve,
                    paths=tuple(
                        replace(path, diameter=hole)
                        if isinstance(path, Bleed) and path.name == "base hole"
                        else path
                        for path in valve.paths
                    ),
                )
                for valve in changed.valves
            ]
            changed = replace(changed, valves=tuple(valves))
        yield (0 if oil is None else 30) + (0 if hole is None else 10), hole is not None, changed


def least_minutes(setup: JobSetup) -> float:
    """Of everything in range: all dampers, all stacks within a change, all clicks of the stack as it is."""
    goal, mounted, old = setup.asked.goal, setup.mounted, setup.stack
    have, rules = brute_force.at_hand(old, SHELF), setup.problem.required_rules
    stacks = {
        name: changes
        for name, changes in brute_force.within(old, SHELF, 1).items()
        if changes and brute_force.buildable(name, have, goal, mounted.mounting, rules)
    }
    least = math.inf
    for minutes, opened, damper in dampers(setup.job.damper.damper):
        for name, changes in {
            brute_force.name_of(brute_force.row_of(map(ShimKey.of, old.shims))): 0,
            **stacks,
        }.items():
            cost = minutes + 20 * (opened or changes > 0) + 5 * changes
            if cost >= least:
                continue
            changed = with_stack(damper, mounted.name, Stack(tuple(key.shim for key in name)))
            for clicks in setup.physics.settings if not changes else [{}]:
                if in_range(setup, changed, clicks):
                    least = cost
    return least


def in_range(setup: JobSetup, damper: Damper, clicks: Mapping[str, int]) -> bool:
    curve = force_curve(damper, velocities=setup.asked.goal.velocities, clicks=clicks, steel=SpringSteel())
    if rank.misfit(setup.asked.goal, np.asarray(curve.force_against_motion)) > 0:
        return False
    return not any(
        boiling_between(damper, span, temperature=None, clicks=clicks, steel=SpringSteel())
        for span in setup.asked.goal.spans
    )


SHIFTS = (0.10, 0.30, -0.12, 0.45, 0.22, -0.25, 0.05, 0.60, 0.16, -0.06, 0.90, 0.37)
"""One that parts do, and others that shims do, both together, or nothing."""


@pytest.mark.parametrize("shift", SHIFTS[: tries(quick=1, thorough=len(SHIFTS))])
def test_the_least_work_in_range_is_that_of_trying_every_combination_with_every_stack(shift: float) -> None:
    setup = set_up(job(shift))
    ladder = searched(setup).ladder
    assert ladder.proven
    expected = least_minutes(setup)
    found = math.inf if ladder.least is None else ladder.least.time / MINUTE
    assert found == pytest.approx(expected) if math.isfinite(expected) else found == expected


@thorough_only("searches what others search")
def test_both_kinds_of_answer_were_among_the_shifts() -> None:
    found = [searched(set_up(job(shift))) for shift in SHIFTS]
    assert any(one.damper is not None for one in found)
    assert any(one.ladder.least is None for one in found)
    assert any(one.ladder.least is not None and not one.ladder.least.changes for one in found)


def test_what_the_damper_has_already_is_no_change_and_the_least_work_comes_first() -> None:
    asked = job(0.1)
    damper = asked.damper.damper
    same = AtHand(kind=PartKind.OIL, name="", choices=(damper.oil, OILS[0]), time=60.0)
    found = combinations(replace(asked, at_hand=(same, asked.at_hand[1])))
    assert [[one.kind for one in changes] for changes in found] == [
        [PartKind.OIL], [PartKind.BLEED], [PartKind.OIL, PartKind.BLEED]
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (
            AtHand(kind=PartKind.BLEED, name="jet", choices=HOLES, time=0),
            "got the bleed 'jet', expected one of",
        ),
        (
            AtHand(kind=PartKind.RING, name="rebound stack", choices=HOLES, time=0),
            "expected one with a single preload ring; it has none",
        ),
        (
            AtHand(kind=PartKind.GAS, name="", choices=tuple(1e5 * n for n in range(1, 40)), time=0),
            "expected at most 24",
        ),
    ],
)
def test_parts_that_are_not_there_or_too_many_are_refused(part: AtHand, said: str) -> None:
    with pytest.raises(InputError, match=said):
        combinations(replace(job(0.1), at_hand=(part,)))


def without_shims(asked: Job, part: AtHand) -> WithParts[OneStack]:
    """One part alone, with the stack as it is."""
    setup = set_up(replace(asked, at_hand=(part,), work=replace(asked.work, most_changes=0)))
    plain = solve(setup.problem, most_changes=0)
    return with_parts_at_hand(OneStack(setup), plain=plain, chosen=None, control=Control())


def test_a_gas_pressure_at_which_oil_would_boil_is_left_out_and_says_so() -> None:
    found = without_shims(job(0.3), AtHand(kind=PartKind.GAS, name="", choices=(0.2e5, 14e5), time=900.0))
    (left_out,) = found.ladder.left_out
    assert (left_out[0][0].to, left_out[1]) == (0.2e5, "oil would boil inside a band of the goal")
    assert [one.time for one in found.ladder.steps] == [0.0, 900.0]


def test_a_ring_of_another_height_makes_another_stack_of_the_same_shims() -> None:
    place_of_ring = ONE_CHANGE["ring"]
    name = place_of_ring.name
    old = Stack(
        tuple(
            ShimKey.from_millimetres(outer=outer, thickness=thick, inner=hole[0] if hole else 6.0).shim
            for outer, thick, *hole in place_of_ring.shims
        )
    )
    damper = read_damper(STIFF_SHOP / "dampers" / "yaffle_fork.toml").with_stack(name, old)
    plain = job(0.3)
    asked = replace(plain, damper=damper, work=replace(plain.work, stack=name))
    (place,) = ring_places(old)
    thicker = old.shims[place].thickness + 0.05e-3
    part = AtHand(kind=PartKind.RING, name=name, choices=(thicker,), time=600.0)
    (step,) = [one for one in without_shims(asked, part).ladder.steps if one.changes]
    new = step.best.stack
    assert new.shims[place].thickness == pytest.approx(thicker)
    assert [one for at, one in enumerate(new.shims) if at != place] == [
        one for at, one in enumerate(old.shims) if at != place
    ]
    assert step.time == pytest.approx(600 + 20 * MINUTE)
    target = [result.mean for window, result in step.bands if window.role.value == "target"]
    assert min(target) > 0


def test_what_the_time_does_not_reach_is_counted_and_nothing_is_called_proven() -> None:
    setup = set_up(job(0.9))
    plain = solve(setup.problem, most_changes=0)
    found = with_parts_at_hand(
        OneStack(setup), plain=plain, chosen=None, control=Control(time_limit=0.0)
    ).ladder
    assert (found.proven, found.least, found.not_reached) == (False, None, len(combinations(setup.job)))


def test_an_oil_that_would_overstress_the_stack_as_it_is_is_left_out_and_says_so() -> None:
    thick = AtHand(kind=PartKind.OIL, name="", choices=(iso_vg(150, density_15=858.0),), time=900.0)
    asked = job(0.3)
    kept = replace(asked, work=replace(asked.work, stress=StressRule(limit=100e6)))
    assert [why for _, why in without_shims(kept, thick).ladder.left_out] == [OVERSTRESSED]
    assert without_shims(asked, thick).ladder.left_out == ()
