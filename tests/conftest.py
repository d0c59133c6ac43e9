"""A quick run tries a part of each long proof; ``pytest --thorough`` tries all of it."""

from __future__ import annotations

import pytest
from hypothesis import settings

from tests.helpers import counts


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that asks for the full counts."""
    parser.addoption("--thorough", action="store_true", help="try the whole of every long proof")


def pytest_configure(config: pytest.Config) -> None:
    """Settle the counts before the tests that read them are imported."""
    counts.choose(thorough=bool(config.getoption("thorough")))
    settings.register_profile("quick", max_examples=25)
    settings.load_profile("default" if config.getoption("thorough") else "quick")
