"""A quick run tries a part of each long proof; ``pytest --thorough`` tries all of it."""

from __future__ import annotations

import gc
import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.helpers import counts
from tests.helpers.beyond_quick import mentions_counts, tries_more
from tests.helpers.in_memory import keep_in_memory
from tests.helpers.longest_first import LongestFirst, sort_longest_first

if TYPE_CHECKING:
    from xdist.remote import Producer

    from tests.helpers.known_plans import KnownPlans


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that asks for the full counts."""
    parser.addoption("--thorough", action="store_true", help="try the whole of every long proof")
    parser.addoption(
        "--beyond-quick",
        action="store_true",
        help="with --thorough: leave out the tests of which a quick run has tried all",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Settle the counts before the tests that read them are imported, and where temporary folders are."""
    keep_in_memory()
    counts.choose(thorough=bool(config.getoption("thorough")))
    settings.register_profile("quick", max_examples=25)
    settings.load_profile("default" if config.getoption("thorough") else "quick")
    gc.disable()  # until all is collected: of all that is imported nothing goes, and to look took a third of the time


def pytest_collection_finish() -> None:
    """Look for cycles from here on, among what tests make and no more among what was imported."""
    gc.freeze()
    gc.enable()


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out a file that has no counts of its own, when a quick run has just passed it."""
    if not config.getoption("beyond_quick") or not collection_path.name.startswith("test_"):
        return None
    return None if mentions_counts(collection_path) else True


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the other tests of which a quick run has just tried all, and put what takes longest first."""
    if config.getoption("beyond_quick"):
        passed = [item for item in items if not tries_more(item)]
        config.hook.pytest_deselected(items=passed)
        items[:] = [item for item in items if tries_more(item)]
    sort_longest_first(items)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> LongestFirst:
    """Hand out tests in that order."""
    return LongestFirst(config, log)


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile once before the workers begin, which would otherwise all compile the same at the same time."""
    if distributes(session.config):
        from optimiser.search.warm_up import warm_up_with_physics

        warm_up_with_physics()


def distributes(config: pytest.Config) -> bool:
    """Whether this process hands tests out to workers."""
    return bool(getattr(config.option, "numprocesses", None)) and not hasattr(config, "workerinput")


@pytest.fixture(scope="session")
def known_plans(tmp_path_factory: pytest.TempPathFactory) -> KnownPlans:
    """Plans of this run, which all workers share."""
    from tests.helpers.known_plans import KnownPlans

    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "known_plans"
    folder.mkdir(exist_ok=True)
    return KnownPlans(folder)


@pytest.fixture
def plans_once(known_plans: KnownPlans, monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands of this process plan a job that another test has planned no second time."""
    monkeypatch.setattr("optimiser.batch.job_to_sheet.plan_job", known_plans)


@pytest.fixture
def without_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plans say nothing of how sure they are, so that no damper is drawn again thousands of times."""
    from optimiser.jobs.how_sure import NOT_SAID

    monkeypatch.setattr("optimiser.jobs.plan.how_sure", lambda *_, **__: NOT_SAID)


@pytest.fixture
def few_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """A proof is checked on a tenth of the stacks, where the test holds it against every stack there is."""
    monkeypatch.setattr("optimiser.search.spot_check.FOR_PROOF", 10)
    monkeypatch.setattr("optimiser.search.spot_check.FOR_LIST", 3)
