"""A job in words on a damper whose oil would boil at speed is planned as far as figures can be promised."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.units import BAR
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.intake.complaint import Complaint
from optimiser.intake.job_goal import Asked
from optimiser.intake.promise import BeyondPromiseError
from optimiser.jobs.job import Job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.setup import JobSetup, set_up
from tests.helpers.paths import STIFF_SHOP

LITTLE = 16e5
"""Gas pressure with which the low side of the shock empties at speed. [Pa]"""
JOB = STIFF_SHOP / "jobs" / "a_more_support.toml"


def soft_gas(job: Job, pressure: float) -> Job:
    """The same job with another gas pressure in the damper. [Pa]"""
    damper = replace(job.damper.damper, gas_pressure=pressure)
    return replace(job, damper=replace(job.damper, damper=damper))


def in_words(job: Job) -> Job:
    return replace(job, asked=Asked(complaint=Complaint(symptom="wallows in long turns", corner="rear")))


def test_bands_from_words_end_before_the_oil_boils_and_the_reasons_say_where() -> None:
    job = in_words(soft_gas(read_job(JOB), LITTLE))
    setup = set_up(job)
    limits = force_curve(job.damper.damper, velocities=np.geomspace(0.02, 2.0, 60)).cavitation
    assert np.isfinite(limits[0])
    assert setup.asked.goal.velocities.max() < limits[0]
    assert any("would boil in compression" in reason for reason in setup.asked.reasons)


def test_bands_in_numbers_are_not_cut_behind_the_tuner_s_back() -> None:
    with pytest.raises(InputError, match="no figure can be promised there"):
        set_up(soft_gas(read_job(JOB), LITTLE))


def test_a_target_in_words_that_lies_wholly_beyond_gets_a_remedy_that_works() -> None:
    job = in_words(soft_gas(read_job(JOB), 2e5))
    planned = plan_job(job)
    assert planned.outcome == "basics first"
    finding = planned.gate.findings[-1]
    assert finding.stops
    found = re.search(r"at least ([0-9.]+) bar of gas \(gauge; 2.0 bar now\)", finding.do_this)
    assert found is not None
    needed = float(found[1]) * BAR
    assert set_up(in_words(soft_gas(job, needed))).asked.goal.windows[0].velocities[-1] == pytest.approx(0.15)
    with pytest.raises(BeyondPromiseError):
        set_up(in_words(soft_gas(job, 2e5)))
    less = set_up_or_none(in_words(soft_gas(job, needed - 0.2 * BAR)))
    assert less is None or less.asked.goal.windows[0].velocities[-1] < 0.15


def set_up_or_none(job: Job) -> JobSetup | None:
    try:
        return set_up(job)
    except BeyondPromiseError:
        return None
