"""How much of each proof a run of the tests tries: a part of it, or under ``pytest --thorough`` the whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, TypeVar

import pytest

Case = TypeVar("Case")

ONLY_THOROUGH: Final = "only with --thorough: "
"""How the reason begins for which a quick run leaves a test out."""

_chosen = {"thorough": False}


def choose(*, thorough: bool) -> None:
    """Settle it for this process, before any test is collected."""
    _chosen["thorough"] = thorough


def tries(*, quick: int, thorough: int) -> int:
    """Repetitions of a proof: some in a quick run, all in a thorough one."""
    return thorough if _chosen["thorough"] else quick


def some_of(cases: Sequence[Case], *, every: int) -> list[Case]:
    """Every so-many-th of cases that are alike, or in a thorough run all of them."""
    return list(cases)[:: tries(quick=every, thorough=1)]


def thorough_only(reason: str) -> pytest.MarkDecorator:
    """Leaves a test out of a quick run, for a reason that pytest prints."""
    return pytest.mark.skipif(not _chosen["thorough"], reason=f"{ONLY_THOROUGH}{reason}")
