"""A build of several stacks and other parts is reserved, done and taken back as one."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from optimiser.ledger.builds import done, last_done, release, reserve
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import LedgerError, NotEnoughShimsError, RefusedError
from optimiser.ledger.jobs import JobRecord, record_job, stack_history
from optimiser.ledger.part_states import PartState, later_parts
from optimiser.ledger.part_swaps import NO_SWAPS, PartSwap, RingSwap, Swaps
from optimiser.ledger.undo import undo
from optimiser.model.damper_description import FiledParts
from optimiser.model.stock import ShimKey
from tests.helpers.ledger_shop import (
    OIL,
    OTHER,
    OTHER_OIL,
    STACK,
    A,
    B,
    C,
    D,
    counts,
    new_pair,
    planned,
    planned_pair,
    reserved_pair,
)

OLD_RING, NEW_RING = ShimKey(16000, 150, 12000), ShimKey(16000, 250, 12000)


def stacks_now(ledger: Ledger, damper: int) -> dict[str, tuple[ShimKey, ...]]:
    return {state.stack_name: state.stack for state in stack_history(ledger, damper)}


def test_both_stacks_and_the_oil_are_built_in_one_step_and_taken_back_in_one(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        before = counts(ledger)
        numbers = reserved_pair(ledger, "fork")
        assert counts(ledger) == before | {B: (2, 1), C: (1, 1)}
        build = done(ledger, "fork")
        assert build.stacks == {STACK: (D, B), OTHER: (D, D, C)}
        assert stacks_now(ledger, numbers.damper_id) == build.stacks
        assert counts(ledger) == {A: (5, 0), B: (1, 0)}
        assert last_done(ledger, "fork") == build
        # The file still says the old oil, which the ledger knows as an earlier one.
        listed: FiledParts = {("oil", ""): OIL, ("bleed", "base bleed"): 0.45}
        assert [*later_parts(ledger, numbers.damper_id, listed)] == [PartState("oil", "", OTHER_OIL)]
        assert examine(ledger) == ()
        undo(ledger)
        assert stacks_now(ledger, numbers.damper_id) == {STACK: (D, D), OTHER: (D, A)}
        filled = {("oil", ""): OTHER_OIL}
        assert [*later_parts(ledger, numbers.damper_id, filled)] == [PartState("oil", "", OIL)]
        undo(ledger)
        assert counts(ledger) == before
        assert examine(ledger) == ()


def test_a_build_that_cannot_have_all_of_its_shims_reserves_none_for_either_stack(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        before, numbers = counts(ledger), new_pair(ledger, "fork")
        greedy = replace(planned_pair(numbers), taken={B: 1, C: 2}, others={OTHER: (D, D, C, C)})
        with pytest.raises(NotEnoughShimsError, match=r"18x0\.20 .*needs 2, 1 free"):
            reserve(ledger, greedy)
        assert counts(ledger) == before
        assert examine(ledger) == ()


def test_no_other_job_may_build_either_stack_or_swap_parts_while_it_is_open(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        numbers = reserved_pair(ledger, "fork")
        record = JobRecord("second", "again", "Tobias", "Corbel", "Fork of fork")
        second = record_job(ledger, record)
        assert second.damper_id == numbers.damper_id
        for name, stack in ((STACK, (D, D, A)), (OTHER, (D, A, A))):
            one = replace(planned(second, taken={A: 1}, stack=stack), stack_name=name)
            with pytest.raises(RefusedError, match="'fork' already has candidate 1 reserved"):
                reserve(ledger, one)
        oil = Swaps((PartSwap("bleed", "base bleed", 0.45, 0.35),))
        third = replace(planned(second, taken={}, stack=()), stack_name="third stack", swaps=oil)
        with pytest.raises(RefusedError, match="'fork' already has candidate 1 reserved"):
            reserve(ledger, third)
        with (
            pytest.raises(LedgerError, match="has an open build"),
            ledger.atomic() as connection,
        ):
            connection.execute(
                "INSERT INTO build (plan_id, job_id, damper_id, pick, stack_name, stack, state) "
                "VALUES (1, ?, ?, 1, ?, '[]', 'reserved')",
                (second.job_id, second.damper_id, OTHER),
            )
        release(ledger, "fork")
        reserve(ledger, replace(planned(second, taken={A: 1}, stack=(D, A, A)), stack_name=OTHER))
        with pytest.raises(RefusedError, match="rests on it"):
            undo(ledger, 3)
        assert examine(ledger) == ()


def test_a_damper_file_that_still_says_the_old_oil_is_refused_unless_somebody_put_it_back(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        numbers = reserved_pair(ledger, "fork")
        done(ledger, "fork")
        built = {STACK: (D, B), OTHER: (D, D, C)}
        record = JobRecord("next", "again", "Tobias", "Corbel", "Fork of fork", stacks=built)
        stale = replace(record, parts={("oil", ""): OIL})
        with pytest.raises(RefusedError, match=r"^oil: the damper file has it as it was.*ISO VG 22"):
            record_job(ledger, stale)
        record_job(ledger, stale, as_found=True)
        assert not [*later_parts(ledger, numbers.damper_id, {("oil", ""): OIL})]
        with pytest.raises(RefusedError, match="come in with another stack"):
            undo(ledger, 3)
        # An oil that the shop never put in is taken note of without a word.
        record_job(ledger, replace(record, parts={("oil", ""): {"name": "can", "iso_vg": 10}}))


@pytest.mark.parametrize("on_the_shelf", [False, True])
def test_a_ring_is_taken_from_the_shelf_where_the_shelf_lists_it_and_comes_out_again(
    shop: Path, on_the_shelf: bool
) -> None:
    from optimiser.ledger.shelf_changes import import_shelf
    from tests.helpers.ledger_shop import START, shelf_of

    with Ledger.open(shop) as ledger:
        if on_the_shelf:
            import_shelf(ledger, shelf_of({**START, NEW_RING: 1, OLD_RING: 0}), reason="rings too")
        record = JobRecord("ring", "ring", "Ines", "Oxlip", "Fork", stacks={STACK: (D, OLD_RING, D)})
        numbers, before = record_job(ledger, record), counts(ledger)
        swaps = Swaps(rings=(RingSwap(OLD_RING, NEW_RING),))
        one = replace(planned(numbers, taken={A: 1}, stack=(D, NEW_RING, D, A)), swaps=swaps)
        build = reserve(ledger, one)
        assert (NEW_RING in build.taken) == on_the_shelf
        done(ledger, "ring")
        assert stacks_now(ledger, numbers.damper_id) == {STACK: (D, NEW_RING, D, A)}
        rings = {key: count for key, count in counts(ledger).items() if key in {OLD_RING, NEW_RING}}
        assert rings == ({OLD_RING: (1, 0)} if on_the_shelf else {})
        assert examine(ledger) == ()
        undo(ledger)
        assert stacks_now(ledger, numbers.damper_id) == {STACK: (D, OLD_RING, D)}
        undo(ledger)
        assert counts(ledger) == before
        assert build.swaps != NO_SWAPS


def test_the_guards_hold_whoever_writes(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_pair(ledger, "fork")
    connection = sqlite3.connect(shop / "shimwright.ledger")
    with pytest.raises(sqlite3.IntegrityError):
        connection.execute("INSERT INTO damper_part VALUES (9, 1, 'paint', '', 'now', 'as found', NULL, '1')")
    connection.close()
