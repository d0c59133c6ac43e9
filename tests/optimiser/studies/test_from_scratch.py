"""A stack built step by step, and clickers brought to the middle: what `[work]` of a job can ask for besides."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.jobs.plan import plan_job
from optimiser.model import certificate as check
from optimiser.model.answer import Status
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.search import Control
from optimiser.studies.from_scratch import fit
from tests.helpers import toy
from tests.helpers.counts import some_of, thorough_only
from tests.helpers.paths import STIFF_SHOP

SHELF = Stock(
    {toy.key(20, t): 6 for t in (0.10, 0.15, 0.20)} | {toy.key(d, 0.15): 4 for d in (18, 16, 14, 12)}
)


def question(built: tuple[tuple[float, float], ...], tolerance: float) -> tuple[toy.ToyPhysics, Stack, Goal]:
    """The whole curve of one stack, asked of a damper that holds another."""
    physics = toy.ToyPhysics()
    start = toy.stack((20, 0.1), (9, 0.3))
    desired = physics.forces(physics.packed(toy.stack(*built)), 0)
    goal = toy.goal(physics, start, desired=desired, tolerance=np.full(6, tolerance), targets=6)
    return physics, start, goal


@pytest.mark.parametrize("from_nothing", some_of([True, False], every=2))
def test_a_whole_curve_is_met_by_small_steps(from_nothing: bool) -> None:
    physics, start, goal = question(
        ((20, 0.2), (20, 0.2), (18, 0.15), (16, 0.15), (14, 0.15), (9, 0.3)), 0.03
    )
    answer = fit(toy.problem(physics, start, SHELF, goal), from_nothing=from_nothing)
    assert answer.status is Status.BY_STEPS
    assert answer.proven_too_few == -1
    assert answer.candidates[0].misfit == 0
    assert len(answer.candidates[0].changes) > 2
    assert check.faults(answer, toy.problem(physics, start, SHELF, goal)) == ()


def test_what_cannot_be_met_comes_as_near_as_steps_lead() -> None:
    physics, start, goal = question(((20, 0.2),) * 30, 0.01)
    answer = fit(toy.problem(physics, start, SHELF, goal), from_nothing=False)
    assert answer.candidates == ()
    assert not answer.nearest_proven
    assert answer.nearest is not None
    assert answer.nearest.misfit > 0


def test_a_stop_gives_the_steps_until_then() -> None:
    physics, start, goal = question(((20, 0.2), (20, 0.2), (18, 0.15), (9, 0.3)), 0.01)
    asked = iter(range(10**6))
    answer = fit(
        toy.problem(physics, start, SHELF, goal), from_nothing=False,
        control=Control(should_stop=lambda: next(asked) > 4),
    )  # fmt: skip
    assert answer.status is Status.INTERRUPTED


def test_no_shim_that_covers_the_ports_is_said() -> None:
    physics, _, goal = question(((20, 0.2), (9, 0.3)), 0.01)
    narrow = toy.stack((9, 0.3))
    with pytest.raises(InputError, match="No shim of the shelf covers the ports"):
        fit(toy.problem(physics, narrow, Stock(), goal), from_nothing=True)


def shop_with(tmp_path: Path, job: str, work: str, damper: tuple[str, str] = ("", "")) -> Path:
    """The stiff shop, with lines of its own under [work] and one line of the damper changed."""
    for file in STIFF_SHOP.rglob("*.*"):
        if file.suffix in {".toml", ".csv"}:
            to = tmp_path / file.relative_to(STIFF_SHOP)
            to.parent.mkdir(parents=True, exist_ok=True)
            to.write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    path, shock = tmp_path / "jobs" / job, tmp_path / "dampers" / "tarn_shock.toml"
    path.write_text(path.read_text().replace("[work]", f"[work]\n{work}"))
    assert damper[0] in shock.read_text()
    shock.write_text(shock.read_text().replace(*damper, 1))
    return path


@pytest.mark.usefixtures("without_draws")
@thorough_only("fits a whole curve; small steps are tried in a quick run")
def test_a_job_is_fitted_from_what_is_in_the_damper(tmp_path: Path) -> None:
    path = shop_with(tmp_path, "a_more_support.toml", 'from_scratch = "damper"')
    plan = plan_job(read_job(path))
    assert plan.answer is not None
    assert plan.answer.status is Status.BY_STEPS
    assert plan.answer.candidates[0].misfit == 0


@pytest.mark.usefixtures("without_draws")
@thorough_only("a whole curve is fitted")
def test_shims_are_chosen_for_a_clicker_in_the_middle(tmp_path: Path) -> None:
    path = shop_with(
        tmp_path, "a_more_support.toml", "clickers_to_middle = true", ("clicks_out = 6", "clicks_out = 4")
    )
    # on average clicks would do
    path.write_text(path.read_text().replace("shift_percent", "at_every_velocity = true\nshift_percent"))
    plan = plan_job(read_job(path))
    assert plan.settings[plan.setting] == {"low-speed compression": 4}
    assert plan.answer is not None
    assert plan.answer.status is Status.PROVEN_LEAST
    for one in plan.answer.candidates:
        assert one.changes
        assert plan.settings[one.setting] == {"low-speed compression": 6}
