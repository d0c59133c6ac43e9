"""A quick run tries a part of each long proof; ``pytest --thorough`` tries all of it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from hypothesis import settings

from tests.helpers import counts

COUNTED: Final = ("tests.helpers.counts", "hypothesis", "tests.helpers.random_dampers")
"""What a file imports whose tests try more in a thorough run."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that asks for the full counts."""
    parser.addoption("--thorough", action="store_true", help="try the whole of every long proof")
    parser.addoption(
        "--beyond-quick",
        action="store_true",
        help="with --thorough: leave out the files of which a quick run has tried all",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Settle the counts before the tests that read them are imported."""
    counts.choose(thorough=bool(config.getoption("thorough")))
    settings.register_profile("quick", max_examples=25)
    settings.load_profile("default" if config.getoption("thorough") else "quick")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out a file that has no counts of its own, when a quick run has just passed it."""
    if not config.getoption("beyond_quick") or not collection_path.name.startswith("test_"):
        return None
    text = collection_path.read_text(encoding="utf-8")
    return None if any(counted in text for counted in COUNTED) else True


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile once before the workers begin, which would otherwise all compile the same at the same time."""
    if distributes(session.config):
        from optimiser.search.warm_up import warm_up_with_physics

        warm_up_with_physics()


def distributes(config: pytest.Config) -> bool:
    """Whether this process hands tests out to workers."""
    return bool(getattr(config.option, "numprocesses", None)) and not hasattr(config, "workerinput")
