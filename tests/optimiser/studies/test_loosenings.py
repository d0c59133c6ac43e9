"""The smallest loosening of each window, against every stack there is, on dampers small enough to try them all."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import brentq

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.intake.adjusted import Adjusted
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.goal_builder import Forces, goal_from_bands
from optimiser.model.answer import Status
from optimiser.model.edits import difference
from optimiser.model.goal import Goal
from optimiser.model.problem import Problem
from optimiser.model.rules import rules_for, violations
from optimiser.model.stock import Stock
from optimiser.search import Control, TreeProgress, solve
from optimiser.studies.loosenable import LEAST_PART, MOST_PART, Kind, Loosenable, loosenable_windows
from optimiser.studies.loosenings import Loosening, Loosenings, loosenings
from tests.helpers import brute_force, toy
from tests.helpers.counts import some_of, tries

pytestmark = pytest.mark.usefixtures("few_drawn")

LOW, HIGH = slice(0, 3), slice(3, 6)
FEW_STEPS = 20
"""Times that a search asks whether to stop before it is told to: after its heuristic, before it is done."""

RIGHT_WAY = (1 / 3, 2.5)


@dataclass(frozen=True)
class ToyJob:
    """A target over the three slow velocities, and a held band over the three fast ones."""

    physics: toy.ToyPhysics
    start: Stack
    stock: Stock
    target: TargetBand
    hold: HoldBand

    def forces(self) -> Forces:
        before = self.physics.forces(self.physics.packed(self.start), self.physics.setting)
        known = dict(zip(np.round(toy.VELOCITIES, 9), before, strict=True))
        return lambda velocities: np.array([known[round(float(v), 9)] for v in velocities])

    def goal(self, adjusted: Adjusted | None = None) -> Goal:
        """Three samples a band are just the velocities that the toy knows."""
        adjusted, before = adjusted or Adjusted(), self.forces()
        shift = adjusted.shifts.get("low")
        target = self.target
        if shift is not None and target.shift_force is not None:
            target = replace(target, shift_force=newtons_for(self, shift))
        elif shift is not None:
            target = replace(target, shift=shift)
        return goal_from_bands(
            targets=[target],
            holds=adjusted.holds([self.hold]),
            familiarity=None,
            forces=before,
            least_height=max(self.start.height - 1e-3, 0),
            most_height=self.start.height + 1e-3,
            samples=3,
        )

    def problem(self, adjusted: Adjusted | None = None) -> Problem:
        return toy.problem(self.physics, self.start, self.stock, self.goal(adjusted))

    @property
    def loosenable(self) -> tuple[Loosenable, ...]:
        return loosenable_windows(self.goal(), targets=[self.target], familiarity=None)

    def loosened(self, *, most_changes: int, control: Control[TreeProgress] | None = None) -> Loosenings:
        return loosenings(self.problem(), self.loosenable, most_changes=most_changes, control=control)


def toy_job(
    seed: int,
    *,
    shims: int,
    types: int,
    strict: bool = False,
    newtons: bool = False,
    clicks: int = 1,
    physics: toy.ToyPhysics | None = None,
) -> ToyJob:
    rng = np.random.default_rng(seed)
    settings = tuple({"rebound": click} for click in range(clicks))
    physics = physics or toy.ToyPhysics(settings=settings, setting=clicks // 2)
    while True:
        start = toy.random_stack(rng, shims)
        if not violations(rules_for(start, toy.MOUNTING), start, toy.MOUNTING):
            break
    before = physics.forces(physics.packed(start), physics.setting)
    shift = float(rng.choice([-1, 1]) * rng.uniform(0.06, 0.4))
    # as many newtons at each of three velocities are seldom come to: such targets get more room
    room = 3.0 if strict and newtons else 1.0
    target = TargetBand(
        "low", "compression", 0.05, 0.2, room * float(rng.uniform(0.01, 0.06)),
        shift=None if newtons else shift, shift_force=shift * float(before[1]) if newtons else None,
        at_every_velocity=strict,
    )  # fmt: skip
    hold = HoldBand("high", "compression", 0.5, 2.0, float(rng.uniform(0.01, 0.08)))
    return ToyJob(physics, start, toy.random_stock(rng, types), target, hold)


def mean_shift(job: ToyJob, newtons: float) -> float:
    before = np.array(job.goal().before)[LOW]
    return toy.mean_by_hand(np.maximum(1 + newtons / before, 1e-12), toy.VELOCITIES[LOW])


def newtons_for(job: ToyJob, shift: float) -> float:
    before = np.array(job.goal().before)[LOW]
    low, high = sorted((1.5 * shift * float(before.max()), 0.5 * shift * float(before.min())))
    return float(brentq(lambda force: mean_shift(job, float(force)) - shift, low, high, xtol=1e-13))


def shift_by_hand(job: ToyJob, forces: toy.Floats) -> float | None:
    """The shift closest to what is wanted that these forces do, in the target's own unit, as a share."""
    target, before = job.target, np.array(job.goal().before)[LOW]
    unit = np.ones(3) if target.shift is None else before
    wanted = target.shift if target.shift is not None else target.shift_force
    assert wanted is not None
    moved, way = (forces[LOW] - before) / unit, np.sign(wanted)
    room = target.tolerance * before / unit
    if target.at_every_velocity:
        ends = float((moved - room).max()), float((moved + room).min())
    else:
        done = toy.mean_by_hand(forces[LOW] / before, toy.VELOCITIES[LOW])

        def off(value: float, side: int) -> float:
            ratio = np.maximum(1 + (value * unit + side * room * unit) / before, 1e-12)
            return toy.mean_by_hand(ratio, toy.VELOCITIES[LOW]) - done

        scale = 5 * abs(wanted) + 2 * float(np.abs(moved).max()) + float(room.max())
        bounds = -min(scale, 0.99 * float((before / unit).min())), scale
        least, most = (float(brentq(off, *bounds, args=(side,), xtol=1e-13)) for side in (1, -1))
        right = sorted((way * (way * moved).max() / RIGHT_WAY[1], way * (way * moved).min() / RIGHT_WAY[0]))
        if (way * moved).max() / RIGHT_WAY[1] > (way * moved).min() / RIGHT_WAY[0]:
            return None
        ends = max(least, right[0]), min(most, right[1])

    def share(value: float) -> float:
        return value if target.shift is not None else mean_shift(job, value)

    present = share(wanted)
    allowed = sorted((LEAST_PART * present, MOST_PART * present))
    low, high = max(share(ends[0]), allowed[0]), min(share(ends[1]), allowed[1])
    return None if ends[0] > ends[1] or low > high else min(max(present, low), high)


def every_stack(job: ToyJob, changes: int) -> list[tuple[int, toy.Floats]]:
    """Changes and forces of every stack and of every setting."""
    physics, goal = job.physics, job.goal()
    rules, have = rules_for(job.start, toy.MOUNTING), brute_force.at_hand(job.start, job.stock)
    found = [
        (0, physics.forces(physics.packed(job.start), setting)) for setting in range(len(physics.settings))
    ]
    for name in brute_force.within(job.start, job.stock, changes):
        if brute_force.buildable(name, have, goal, toy.MOUNTING, rules):
            made = Stack(tuple(key.shim for key in name))
            if (count := difference(job.start, made).changes) <= changes:
                found.append((count, physics.forces(physics.packed(made), physics.setting)))
    return found


def by_brute_force(job: ToyJob, changes: int) -> dict[tuple[str, int], float]:
    """For each window and number of changes how far it has to be loosened; nothing where a stack meets all."""
    before = np.array(job.goal().before)
    present = job.loosenable[0].present
    needed: dict[tuple[str, int], float] = {}
    for count, forces in every_stack(job, changes):
        off = float(np.abs(forces[HIGH] / before[HIGH] - 1).max())
        shift = shift_by_hand(job, forces)
        held, moved = off <= job.hold.tolerance, shift is not None and abs(shift - present) < 1e-12
        if held and moved:
            return {}
        for number in range(count, changes + 1):
            if moved and off <= 1:
                far = off - job.hold.tolerance
                needed["high", number] = min(needed.get(("high", number), far), far)
            if held and shift is not None:
                far = abs(shift - present)
                needed["low", number] = min(needed.get(("low", number), far), far)
    return needed


def agrees_with_brute_force(job: ToyJob, *, changes: int) -> int:
    """Compare every window for every number of changes, and count the loosenings."""
    expected, found = by_brute_force(job, changes), job.loosened(most_changes=changes)
    assert found.stopped is None
    if not expected:
        return 0
    for name in ("low", "high"):
        for number in range(changes + 1):
            own = [one for one in found.found if one.name == name and one.changes <= number]
            assert bool(own) == ((name, number) in expected)
            if own:
                assert own[-1].proven
                assert abs(own[-1].value - own[-1].present) == pytest.approx(expected[name, number], abs=5e-9)
    return len(found.found)


@pytest.mark.parametrize("strict", [False, True])
def test_one_change_agrees_with_brute_force(strict: bool) -> None:
    """16 random jobs of 4 to 7 shims, with clicks or without, of either form; 8 in a quick run."""
    jobs = tries(quick=8, thorough=16)
    found = sum(
        agrees_with_brute_force(
            toy_job(seed, shims=4 + seed % 4, types=4, strict=strict, clicks=1 + 2 * (seed % 3)), changes=1
        )
        for seed in range(jobs)
    )
    assert found > jobs / 2


@pytest.mark.parametrize("strict", [False, True])
def test_two_changes_agree_with_brute_force(strict: bool) -> None:
    """12 random jobs, small enough that every stack within two changes can be tried; 4 in a quick run."""
    jobs = tries(quick=4, thorough=12)
    found = sum(
        agrees_with_brute_force(
            toy_job(1000 + seed, shims=4, types=2, strict=strict, clicks=1 + 2 * (seed % 3)), changes=2
        )
        for seed in range(jobs)
    )
    assert found > jobs / 2


@pytest.mark.parametrize("strict", [False, True])
def test_a_target_in_newtons_agrees_with_brute_force(strict: bool) -> None:
    """Its shift is the mean of what its newtons come to; 10 random jobs of either form, 5 in a quick run."""
    jobs = tries(quick=5, thorough=10)
    found = sum(
        agrees_with_brute_force(
            toy_job(2000 + seed, shims=4 + seed % 3, types=3, strict=strict, newtons=True, clicks=3),
            changes=1,
        )
        for seed in range(jobs)
    )
    assert found > jobs / 2


def typed(one: Loosening, less: float) -> Adjusted:
    """The printed figure, or one that is loosened by so much less."""
    share = float(one.figure) / 100
    if one.kind is not Kind.SHIFT:
        return Adjusted(tolerances={one.name: share * (1 - less)})
    nearer = share * (1 + less) if abs(share) < abs(one.present) else share * (1 - less)
    beyond = (nearer - one.present) * (share - one.present) < 0
    return Adjusted(shifts={one.name: one.present if beyond else nearer})


@pytest.mark.parametrize("newtons", some_of([True, False], every=2))
def test_a_job_loosened_as_printed_is_met_and_loosened_by_a_hundredth_less_it_is_not(newtons: bool) -> None:
    """10 random jobs, 2 in a quick run; each with clicks and up to two changes."""
    jobs, tried = tries(quick=2, thorough=10), 0
    for seed in range(3000, 3000 + jobs):
        job = toy_job(seed, shims=4 + seed % 3, types=3, strict=seed % 2 == 1, newtons=newtons, clicks=3)
        found = job.loosened(most_changes=2)
        if found.met is not None:
            continue
        for one in found.found:
            tried += 1
            met, bare = (
                solve(job.problem(typed(one, less)), most_changes=one.changes, find_nearest=False, wanted=1)
                for less in (0.0, 0.01)
            )
            assert met.candidates, one
            assert bare.status is Status.PROVEN_IMPOSSIBLE, one
    assert tried > jobs


def test_a_search_cut_short_leaves_what_was_found_unproven_and_it_still_does() -> None:
    """No time at all leaves the clicks, which are proven; a few steps leave stacks that do."""
    whole, tried = 0, 0
    for seed in range(3000, 3000 + tries(quick=3, thorough=12)):
        job = toy_job(seed, shims=10, types=5, clicks=3)
        none = job.loosened(most_changes=2, control=Control(time_limit=0.0))
        assert {one.changes for one in none.found if one.proven} <= {0}
        asked = itertools.count()
        short = job.loosened(most_changes=2, control=Control(should_stop=lambda: next(asked) > FEW_STEPS))  # noqa: B023
        whole += short.stopped is None
        for one in short.found:
            tried += 1
            forces = np.array(one.candidate.forces)
            goal = job.goal(typed(one, 0.0))
            assert (forces >= goal.lower).all()
            assert (forces <= goal.upper).all()
            assert len(one.candidate.changes) <= one.changes
    assert tried > 0


def test_an_interruption_proves_no_more_than_the_clicks() -> None:
    job = toy_job(3001, shims=10, types=5, clicks=3)
    found = job.loosened(most_changes=2, control=Control(should_stop=lambda: True))
    assert found.stopped is Status.INTERRUPTED
    assert {one.changes for one in found.found if one.proven} <= {0}


def test_where_the_model_has_no_answer_nothing_is_proven() -> None:
    class Silent(toy.ToyPhysics):
        def forces(self, plates: PackedStack, setting: int) -> toy.Floats:
            if setting == 2:
                raise ModelError("no equilibrium")
            return super().forces(plates, setting)

    physics = Silent(settings=tuple({"rebound": click} for click in range(3)), setting=1)
    found = [
        one
        for seed in range(3000, 3004)
        for one in toy_job(seed, shims=4, types=3, physics=physics).loosened(most_changes=1).found
    ]
    assert found
    assert not any(one.proven for one in found)


def test_a_stack_that_meets_the_goal_as_it_is_is_said_to() -> None:
    """Where another search had no time to find it."""
    job = toy_job(3, shims=5, types=4)
    wide = replace(job.target, shift=1e-4, tolerance=0.2, at_every_velocity=True)
    easy = replace(job, target=wide, hold=replace(job.hold, tolerance=0.5))
    assert easy.loosened(most_changes=1).met is not None
