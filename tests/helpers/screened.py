"""A search whose every tree is screened at once, however small."""

from __future__ import annotations

import pytest

from optimiser.search import branch_and_bound
from optimiser.search.parallel import worker
from optimiser.search.screen import by_crossover, by_sums, member_sample, member_screen, screen
from optimiser.search.screen.by_crossover import ByCrossover
from optimiser.search.screen.by_sums import BySums
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


def by_crossover_at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The same, and every shape is taken for a large one; how much is left of all of them is listed."""
    screened = screen_at_once(monkeypatch)
    go_by_crossover(monkeypatch)
    list_left_by(ByCrossover, screened, monkeypatch)
    return screened


def list_left_by(
    way: type[ByCrossover | BySums], screened: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """List how much a way leaves each time; it may give up."""
    kept = Screen._left_by

    def left(self: Screen, by: type[ByCrossover | BySums], *arguments: object) -> object:
        found = kept(self, by, *arguments)  # type: ignore[arg-type]
        if by is way and found is not None:
            screened.append(len(found))
        return found

    monkeypatch.setattr(Screen, "_left_by", left)


def go_by_crossover(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take every shape for a large one, and kinds of crossover of few members for large ones."""
    monkeypatch.setattr(screen, "MOST_MEMBERS", 0)
    monkeypatch.setattr(screen, "FOR_A_QUESTION", 10**12)
    monkeypatch.setattr(by_crossover, "MOST_LEFT", 1.0)
    monkeypatch.setattr(by_crossover, "LARGE", 150)
    monkeypatch.setattr(by_crossover, "ASKED", 50)


def by_sums_at_once(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Every tree is partitioned and gone through by sums at once; how much is left of each is listed as it comes."""
    screened = screen_at_once(monkeypatch)
    go_by_sums(monkeypatch)
    monkeypatch.setattr(branch_and_bound.BranchAndBound, "_is_hard_to_close", False)
    list_left_by(BySums, screened, monkeypatch)
    return screened


def go_by_sums(monkeypatch: pytest.MonkeyPatch) -> None:
    """Go through few members by sums, too, from what fewer have told."""
    monkeypatch.setattr(screen, "WORTH_SUMS", 0)
    monkeypatch.setattr(by_sums, "ASKED", 60)
    monkeypatch.setattr(member_sample, "ASKED", 60)
    monkeypatch.setattr(by_sums, "FEW", 100)
