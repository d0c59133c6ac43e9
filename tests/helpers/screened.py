"""A search whose every tree is screened at once, however small."""

from __future__ import annotations

import pytest

from optimiser.search import branch_and_bound
from optimiser.search.parallel import worker
from optimiser.search.screen import by_sums, member_sample, member_screen, screen
from optimiser.search.screen.screen import Screen


def screen_at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Partition and screen every tree at once; how much is left of each shape is listed as it comes."""
    monkeypatch.setattr(branch_and_bound, "PARTITION_AFTER", -1)
    monkeypatch.setattr(worker, "STEPS", 1)
    monkeypatch.setattr(branch_and_bound.BranchAndBound, "_is_hard_to_close", True)
    monkeypatch.setattr(screen, "PRICE", 0)
    monkeypatch.setattr(screen, "WORTH", 30)
    monkeypatch.setattr(member_screen, "ROUND", 25)
    monkeypatch.setattr(member_screen, "WORTH_A_ROUND", 5)
    screened: list[int] = []
    kept = Screen._left

    def left(self: Screen, *arguments: object) -> object:
        found = kept(self, *arguments)  # type: ignore[arg-type]
        screened.append(len(found))
        return found

    monkeypatch.setattr(Screen, "_left", left)
    return screened


def list_left_by_sums(screened: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    """List how much sums leave each time; they may give up."""
    kept = Screen._left_by_sums

    def left(self: Screen, *arguments: object) -> object:
        found = kept(self, *arguments)  # type: ignore[arg-type]
        if found is not None:
            screened.append(len(found))
        return found

    monkeypatch.setattr(Screen, "_left_by_sums", left)


def by_sums_at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Every tree is partitioned and gone through by sums at once; how much is left of each is listed as it comes."""
    screened = screen_at_once(monkeypatch)
    go_by_sums(monkeypatch)
    monkeypatch.setattr(branch_and_bound.BranchAndBound, "_is_hard_to_close", False)
    list_left_by_sums(screened, monkeypatch)
    return screened


def go_by_sums(monkeypatch: pytest.MonkeyPatch) -> None:
    """Go through few members by sums, too, from what fewer have told."""
    monkeypatch.setattr(screen, "WORTH_SUMS", 0)
    monkeypatch.setattr(by_sums, "ASKED", 60)
    monkeypatch.setattr(member_sample, "ASKED", 60)
    monkeypatch.setattr(by_sums, "FEW", 100)
