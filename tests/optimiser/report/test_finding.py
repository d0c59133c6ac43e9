"""The sentence about proof says what was proven and nothing else."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from optimiser.model.answer import ChangedToo, Status
from optimiser.report.finding import FindingKind, PlanFinding
from tests.helpers.sheet_samples import (
    FEW,
    answer,
    candidate,
    clicks_only,
    few_shims,
    forces,
    key,
    out_of_reach,
    swapped,
)


def finding(**given: object) -> PlanFinding:
    fields: dict[str, object] = {
        "kind": FindingKind.SHIMS, "status": Status.PROVEN_LEAST, "changes": 2, "proven_too_few": 1, "most_changes": 3,
        "nearest_proven": False, "stacks": 1200,
    }  # fmt: skip
    return PlanFinding(**(fields | given))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "status", "too_few", "nearest"), list(product(FindingKind, Status, [-1, 0, 1], [True, False]))
)
def test_proven_is_printed_when_it_is_and_at_no_other_time(
    kind: FindingKind, status: Status, too_few: int, nearest: bool
) -> None:
    """'Proven' opens the sentence exactly when the answer is proven."""
    found = finding(kind=kind, status=status, proven_too_few=too_few, nearest_proven=nearest)
    claims = {
        FindingKind.SHIMS: status is Status.PROVEN_LEAST and too_few >= 0,
        FindingKind.CLICKS: False,
        FindingKind.PARTS: False,
        FindingKind.NEAR_ENOUGH: status is Status.PROVEN_IMPOSSIBLE,
        FindingKind.NEAREST: status is Status.PROVEN_IMPOSSIBLE,
    }
    assert found.sentence.startswith("Proven") is claims[kind]


def test_a_proof_for_other_parts_names_them() -> None:
    """What is proven counts for the damper with those parts."""
    assert finding(parts="oil VG 22 instead of VG 15").sentence.startswith(
        "Proven: no stack with at most 1 change"
    )
    assert (
        "All of it with oil VG 22 instead of VG 15." in finding(parts="oil VG 22 instead of VG 15").sentence
    )


@pytest.mark.parametrize("status", [Status.BEST_SO_FAR, Status.INTERRUPTED])
@pytest.mark.parametrize("kind", [FindingKind.SHIMS, FindingKind.NEAREST])
def test_a_search_cut_short_is_never_called_impossible(kind: FindingKind, status: Status) -> None:
    """Running out of time says so, and says what stands."""
    sentence = finding(kind=kind, status=status).sentence
    assert sentence.startswith("Not proven")
    assert "no buildable stack" not in sentence
    assert "no stack with at most 1 change meets the goal" in sentence


def test_nothing_proven_about_fewer_changes_is_said() -> None:
    """Without a bound the sentence claims none."""
    assert "Fewer changes are not ruled out" in finding(status=Status.BEST_SO_FAR, proven_too_few=-1).sentence


def test_a_candidate_with_more_changes_than_the_least_is_not_called_the_fewest() -> None:
    """Picking a longer candidate keeps the proof and drops the word."""
    assert "the fewest" in finding(changes=2).sentence
    assert "the fewest" not in finding(changes=3).sentence


def test_several_changes_with_clickers_turned_besides_are_not_called_the_fewest() -> None:
    """With the clickers otherwise one change may do: that was not gone through."""
    sentence = finding(clicks_kept=True, turned=True).sentence
    assert "with the clickers as they are, no stack with at most 1 change meets the goal" in sentence
    assert "This one takes 2 changes, with the clickers turned besides." in sentence
    assert "the fewest" not in sentence


def test_a_nearest_that_is_not_proven_nearest_says_so() -> None:
    """A nearer stack is ruled out only when it is."""
    impossible = {"kind": FindingKind.NEAREST, "status": Status.PROVEN_IMPOSSIBLE}
    assert "not ruled out" in finding(**impossible, nearest_proven=False).sentence
    assert "No other comes nearer" in finding(**impossible, nearest_proven=True).sentence


def test_the_kind_of_sheet_follows_from_the_candidate() -> None:
    """Shims when some change, clicks when none does, nearest when it is no candidate."""
    assert few_shims().finding.kind is FindingKind.SHIMS
    assert clicks_only().finding.kind is FindingKind.CLICKS
    assert out_of_reach().finding.kind is FindingKind.NEAREST


def test_a_finding_takes_its_numbers_from_the_answer() -> None:
    """Changes, bound and stacks are the search's own."""
    new, change = swapped(FEW, 3, key(17, 0.25))
    chosen = candidate(new, change, forces=forces())
    found = PlanFinding.of(answer(chosen, too_few=0), chosen)
    assert (found.changes, found.proven_too_few, found.stacks) == (1, 0, 18_240)
    both = replace(chosen, others=(ChangedToo("another stack", FEW, (change,)),))
    for present, turned in ((None, False), (both.setting, False), (both.setting + 1, True)):
        assert PlanFinding.of(replace(answer(both), turned_from=present), both).turned == turned
