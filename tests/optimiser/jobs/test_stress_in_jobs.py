"""No stack is listed that stresses a shim beyond the limit, unless the stack in the damper is there already."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from damping_model.stack.lift import lift_curve
from damping_model.stack.stack import Stack
from damping_model.stack.stress import shim_stresses
from damping_model.units import MEGAPASCAL
from optimiser.files.job_reader import read_job
from optimiser.jobs.job import Job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.setup import set_up
from optimiser.model.certificate import faults
from optimiser.model.objection import Objection
from optimiser.model.stress import MORE_STRESS, StressRule
from optimiser.report.plan_sheet import sheet_of
from optimiser.search import Control
from tests.helpers.counts import thorough_only
from tests.helpers.paths import STIFF_SHOP

JOB = STIFF_SHOP / "jobs" / "a_more_support.toml"


def with_rule(rule: StressRule, **work: object) -> Job:
    job = read_job(JOB)
    return replace(job, work=replace(job.work, stress=rule, **work))  # type: ignore[arg-type]


def one_thick_shim(stack: Stack) -> Stack:
    """The face shims and the clamp shim alone: what bends most for its thickness."""
    return Stack((stack.shims[0], stack.shims[-1]))


def test_the_worst_stress_is_that_of_the_lift_at_the_largest_pressure_of_the_bands() -> None:
    setup = set_up(read_job(JOB))
    found = setup.physics.worst_stress(setup.stack, setup.physics.setting)
    assert found is not None
    path, packed = setup.mounted.path, setup.physics.packed(setup.stack)
    pressures = found.pressure * np.array([0.5, 1.0])
    curve = lift_curve(packed, seat=path.seat, load=path.face_pressure, pressures=pressures)
    stresses = shim_stresses(setup.stack, packed, curve, steel=setup.physics.steel, place=-1)
    assert found.worst.von_mises == pytest.approx(max(one.von_mises for one in stresses), rel=1e-3)


def test_the_stack_in_the_damper_is_never_objected_to_and_a_weaker_one_is() -> None:
    setup = set_up(with_rule(StressRule(limit=100 * MEGAPASCAL)))
    physics, thin = setup.physics, one_thick_shim(setup.stack)
    assert physics.objection(setup.stack, physics.setting) is None
    assert physics.objection(thin, physics.setting) is Objection.OVERSTRESSED


@thorough_only("searches long")
def test_a_reason_turns_the_rule_off_and_stands_on_the_sheet() -> None:
    rule = StressRule(limit=100 * MEGAPASCAL, reason="a race of one day")
    setup = set_up(with_rule(rule))
    assert setup.physics.objection(one_thick_shim(setup.stack), setup.physics.setting) is None
    planned = plan_job(with_rule(rule, most_changes=1), control=Control(cores=1))
    assert planned.shown is not None
    assert any("a race of one day" in words for words in sheet_of(planned, planned.shown).basis)


@thorough_only("the certificate of every plan asks the same")
def test_every_listed_stack_keeps_the_limit_or_stays_near_what_the_damper_has() -> None:
    rule = StressRule(limit=900 * MEGAPASCAL)
    job = with_rule(rule, most_changes=1)
    planned = plan_job(job, control=Control(cores=1))
    check, answer = planned.stress, planned.answer
    assert check is not None
    assert answer is not None
    assert check.before is not None
    assert check.before.worst.von_mises > rule.limit
    allowed = check.before.worst.von_mises * (1 + MORE_STRESS)
    for one in answer.candidates:
        stress = check.of(one)
        assert stress is not None
        assert stress.worst.von_mises <= allowed
    assert faults(answer, set_up(job).problem) == ()
