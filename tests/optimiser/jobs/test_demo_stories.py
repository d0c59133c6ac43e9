"""The stories that begin before the search run to the end: basics first, one instant, another frame."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.job_file import JobFile
from optimiser.jobs.planned import Planned
from optimiser.model import rank
from optimiser.model.answer import Status
from optimiser.model.goal import Role
from tests.helpers.counts import thorough_only
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import STIFF_SHOP

JOBS = STIFF_SHOP / "jobs"
Stories = Callable[[str], Planned]


@pytest.fixture
def planned(known_plans: KnownPlans) -> Stories:
    """The plan of a story by its name."""
    return lambda story: known_plans.of(STIFF_SHOP, story)


def test_wrong_sag_stops_the_plan_before_any_physics(planned: Stories) -> None:
    plan = planned("c_sag_first")
    assert plan.outcome == "basics first"
    assert plan.answer is None
    assert plan.gate.findings[0].what == "sag, rear"


@thorough_only("searches long; the demo has stories of its own")
def test_one_landing_is_planned_with_the_least_change_and_all_else_stays_familiar(planned: Stories) -> None:
    plan = planned("e_one_instant")
    assert plan.answer is not None
    assert plan.asked is not None
    assert plan.shown is not None
    assert plan.answer.status is Status.PROVEN_LEAST
    goal, best = plan.asked.goal, np.array(plan.shown.forces)
    assert (best >= goal.lower - 1e-6).all()
    assert (best <= goal.upper + 1e-6).all()
    assert Role.FAMILIARITY in {window.role for window in goal.windows}
    assert np.abs(best / goal.before - 1).max() <= 0.15
    assert any("free fall from 0.45 m" in reason for reason in plan.asked.reasons)


@thorough_only("searches long")
def test_ten_candidates_of_the_one_instant_come_from_four_ways_at_least(planned: Stories) -> None:
    plan = planned("e_one_instant")
    assert plan.answer is not None
    ideas = [plan.idea_of(one) for one in plan.answer.candidates]
    assert len({idea.way for idea in ideas if idea is not None}) >= 4
    assert sum(1 + len(idea.twins) for idea in ideas if idea is not None) >= 10
    assert not any(rank.broad(one) for one in plan.answer.candidates)


@thorough_only("a whole curve is searched")
def test_a_shock_on_another_frame_feels_at_the_wheel_as_before(planned: Stories) -> None:
    plan = planned("f_another_frame")
    assert plan.answer is not None
    assert plan.asked is not None
    assert plan.shown is not None
    assert plan.answer.status is Status.PROVEN_LEAST
    best = np.array(plan.shown.forces)
    assert np.abs(best / plan.asked.goal.desired - 1).max() <= 0.06 + 1e-9
    assert plan.asked.reasons[0].startswith(
        "The two frames can feel alike along the travel within the tolerance"
    )


def test_a_known_feel_beside_a_complaint_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        (JOBS / "f_another_frame.toml")
        .read_text()
        .replace("[carry]", 'symptom = "slow to come back"\n[carry]')
    )
    with pytest.raises(
        InputError, match=r"either a known feel under \[carry\], or targets and complaints; got both"
    ):
        read_toml(path, JobFile, what="job")
