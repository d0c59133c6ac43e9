"""A search whose every tree is screened at once, however small."""

from __future__ import annotations

import pytest

from optimiser.search import branch_and_bound
from optimiser.search.screen import screen, shape_screen
from optimiser.search.screen.screen import Screen


def screen_at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Partition and screen every tree at once; how much is left of each shape is listed as it comes."""
    monkeypatch.setattr(branch_and_bound, "PARTITION_AFTER", -1)
    monkeypatch.setattr(branch_and_bound.BranchAndBound, "_is_hard_to_close", True)
    monkeypatch.setattr(screen, "PRICE", 0)
    monkeypatch.setattr(screen, "WORTH", 30)
    monkeypatch.setattr(shape_screen, "ROUND", 25)
    monkeypatch.setattr(shape_screen, "WORTH_A_ROUND", 5)
    screened: list[int] = []
    kept = Screen._left

    def left(self: Screen, *arguments: object) -> object:
        found = kept(self, *arguments)  # type: ignore[arg-type]
        screened.append(len(found))
        return found

    monkeypatch.setattr(Screen, "_left", left)
    return screened
