"""A plan built of measured shims: which it names, and that they bring it nearer than others would."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from damping_model.stack.stack import Stack as StackOfShims
from optimiser.files.job_reader import read_job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import set_up
from optimiser.jobs.variant import Variant
from optimiser.jobs.varied import varied
from optimiser.model.band_result import band_result
from optimiser.model.edits import keys_of
from optimiser.model.goal import mean_weights
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import Control
from tests.helpers.paths import STIFF_SHOP

FILED = varied(read_job(STIFF_SHOP / "jobs" / "g_too_coarse.toml"), Variant(shifts={"support": 0.1}))
FEW = {key: count for key, count in FILED.stock.counts.items() if key.outer in {17000, 20000}}
JOB = replace(FILED, stock=Stock({key: count for key, count in FEW.items() if key.thickness == 150}))


@cache
def plan(readings: tuple[tuple[ShimKey, tuple[int, ...]], ...] = (), *, measured: bool = False) -> Planned:
    stock = replace(JOB.stock, readings=dict(readings))
    job = replace(JOB, stock=stock.in_hand() if measured else stock)
    return plan_job(job, control=Control())


def coming(planned: Planned) -> ShimKey:
    assert planned.shown is not None
    return planned.taken(planned.shown)[0].key


def test_without_readings_a_plan_names_no_single_shims() -> None:
    planned = plan()
    assert planned.real == {}
    assert planned.shown is not None
    assert all(not one.readings and one.nominal is None for one in planned.taken(planned.shown))


def test_the_shim_that_is_named_brings_the_plan_nearer_than_any_other_of_its_drawer() -> None:
    key = coming(plan())
    readings = tuple(key.thickness + step for step in (-7, -3, 2, 6))[: JOB.stock.count(key)]
    planned = plan(((key, readings),))
    shown = planned.shown
    assert shown is not None
    assert planned.asked is not None
    real = planned.real[shown]
    assert planned.taken(shown)[0].readings == real.chosen[key].readings == (key.thickness + 2,)

    physics, goal = set_up(planned.job).physics, planned.asked.goal
    new = {change.in_after for change in shown.changes if change.put_in == key}

    def off(reading: int) -> float:
        real = key._replace(thickness=reading).shim
        shims = tuple(real if place in new else shim for place, shim in enumerate(shown.stack.shims))
        forces = physics.forces(physics.packed(StackOfShims(shims)), shown.setting)
        changes = np.log(forces / np.array(shown.forces))
        return max(abs(changes[part] @ mean_weights(window.velocities)) for window, part in goal.parts)

    assert min(readings, key=off) == key.thickness + 2


def test_a_thicker_shim_than_planned_gives_more_and_the_plan_says_how_much() -> None:
    key = coming(plan())
    planned = plan(((key, (key.thickness + 9,) * JOB.stock.count(key)),))
    shown = planned.shown
    assert shown is not None
    assert planned.asked is not None
    real = planned.real[shown]
    window, part = next((w, p) for w, p in planned.asked.goal.parts if w.role.value == "target")
    built, meant = (band_result(window, forces[part]).mean for forces in (real.forces, shown.forces))
    assert built > meant + 0.002
    assert [shim.thickness for shim in real.stack.shims] != [shim.thickness for shim in shown.stack.shims]


def test_how_sure_a_plan_is_counts_with_what_was_read_of_the_shims_that_it_names() -> None:
    key = coming(plan())
    nominal, read = (
        plan(readings) for readings in ((), ((key, (key.thickness + 4,) * JOB.stock.count(key)),))
    )
    spreads = [planned.sure.of(planned.shown) for planned in (nominal, read) if planned.shown is not None]
    unread, named = (next(band for band in one.bands if band.name == "support") for one in spreads if one)
    assert named.high - named.low < 0.9 * (unread.high - unread.low)
    assert named.low + named.high > unread.low + unread.high
    assert read.shown is not None
    assert read.asked is not None
    window, part = next((w, p) for w, p in read.asked.goal.parts if w.name == "support")
    assert named.low < band_result(window, read.real[read.shown].forces[part]).mean < named.high


def test_planning_with_what_is_in_the_hand_takes_only_what_lies_there() -> None:
    key = coming(plan())
    readings = tuple(sorted(key.thickness + 9 - 2 * number for number in range(JOB.stock.count(key))))
    planned = plan(((key, readings),), measured=True)
    shown = planned.shown
    assert shown is not None
    assert planned.job.stock == Stock(planned.job.stock.counts)
    new = set(keys_of(shown.stack)) - set(keys_of(planned.old_stack))
    assert new <= set(planned.job.stock.counts)
    assert key not in new
    for one in planned.taken(shown):
        assert (one.nominal == key) == (one.key in {key._replace(thickness=r) for r in readings})


@pytest.mark.parametrize("measured", [False, True])
def test_readings_that_are_nominal_change_no_answer(measured: bool) -> None:
    key = coming(plan())
    planned = plan(((key, (key.thickness,) * JOB.stock.count(key)),), measured=measured)
    assert planned.answer is not None
    assert (before := plan().answer) is not None
    assert planned.answer.candidates == before.candidates
