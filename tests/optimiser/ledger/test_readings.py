"""Micrometer readings in the books: they go with the shims that were read, and come back with them."""

from pathlib import Path

import pytest

from optimiser.ledger.build_rows import PlannedBuild
from optimiser.ledger.builds import done, release, reserve
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.levels import free_stock, shelf_levels
from optimiser.ledger.readings import Readings
from optimiser.ledger.shelf_changes import note_readings, receive, scrap
from optimiser.ledger.undo import undo
from optimiser.model.stock import ShimKey
from tests.helpers.ledger_shop import STACK, A, B, D, new_job

THICK = A._replace(thickness=103)


def measures(ledger: Ledger, key: ShimKey) -> tuple[int, ...]:
    return next(level.readings for level in shelf_levels(ledger) if level.key == key)


def build(
    ledger: Ledger,
    name: str,
    stack: tuple[ShimKey, ...],
    taken: dict[ShimKey, int],
    returned: dict[ShimKey, int],
    readings: Readings | None = None,
) -> PlannedBuild:
    numbers = new_job(ledger, name)
    plan = PlannedBuild(
        numbers.job_id, numbers.damper_id, "{}", 1, taken, returned, STACK, stack, readings or {}
    )
    reserve(ledger, plan)
    return plan


def reserved_to_come_out(ledger: Ledger) -> None:
    """Fit a shim that was read, and reserve what is to take its place."""
    build(ledger, "ines", (THICK, D), {THICK: 1}, {D: 1})
    done(ledger, "ines")
    numbers = new_job(ledger, "ines", stack=(THICK, D))
    out = PlannedBuild(numbers.job_id, numbers.damper_id, "{}", 1, {B: 1}, {THICK: 1}, STACK, (B, D))
    reserve(ledger, out)


@pytest.fixture
def measured(shop: Path) -> Path:
    with Ledger.open(shop) as ledger:
        note_readings(ledger, A, [103, 98, 99], reason="measured")
    return shop


def test_readings_are_of_free_shims_and_no_more_of_them_than_there_are(measured: Path) -> None:
    with Ledger.open(measured) as ledger:
        assert measures(ledger, A) == (98, 99, 103)
        assert free_stock(ledger).readings == {A: (98, 99, 103)}
        with pytest.raises(RefusedError, match="got 5 readings, expected at most the 4 free"):
            note_readings(ledger, A, [100] * 5, reason="measured")


def test_what_is_taken_off_unnamed_leaves_nobody_sure_which_are_left(measured: Path) -> None:
    with Ledger.open(measured) as ledger:
        scrap(ledger, A, 1, reason="bent")
        assert measures(ledger, A) == (98, 99, 103)
        scrap(ledger, A, 1, reason="bent")
        assert measures(ledger, A) == ()
        receive(ledger, A, 1, reason="invoice")
        assert examine(ledger) == ()


def test_named_shims_leave_their_drawer_with_a_build_and_come_back_when_it_is_released(
    measured: Path,
) -> None:
    with Ledger.open(measured) as ledger:
        build(ledger, "ines", (A, A, D), {A: 2}, {D: 1}, {A: (98, 103)})
        assert measures(ledger, A) == (99,)
        release(ledger, "ines")
        assert measures(ledger, A) == (98, 99, 103)
        undo(ledger)
        assert measures(ledger, A) == (99,)
        done(ledger, "ines")
        assert measures(ledger, A) == (99,)
        assert examine(ledger) == ()


def test_a_stack_of_what_was_read_is_taken_from_the_drawer_of_its_type(measured: Path) -> None:
    with Ledger.open(measured) as ledger:
        build(ledger, "ines", (THICK, D), {THICK: 1}, {D: 1})
        level = next(level for level in shelf_levels(ledger) if level.key == A)
        assert (level.shelf, level.free, level.readings) == (4, 3, (98, 99))
        done(ledger, "ines")
        assert examine(ledger) == ()
        assert THICK not in {level.key for level in shelf_levels(ledger)}


def test_a_shim_that_was_read_goes_home_to_its_drawer_with_its_reading(measured: Path) -> None:
    with Ledger.open(measured) as ledger:
        reserved_to_come_out(ledger)
        done(ledger, "ines")
        assert measures(ledger, A) == (98, 99, 103)
        undo(ledger)
        assert measures(ledger, A) == (98, 99)
        assert examine(ledger) == ()


def test_of_a_type_of_which_some_went_to_the_bin_no_reading_comes_home(measured: Path) -> None:
    with Ledger.open(measured) as ledger:
        reserved_to_come_out(ledger)
        done(ledger, "ines", scrapped={A: 1})
        assert measures(ledger, A) == (98, 99)
        assert examine(ledger) == ()


def test_readings_that_are_written_down_anew_can_be_taken_back(measured: Path) -> None:
    with Ledger.open(measured) as ledger:
        note_readings(ledger, A, [], reason="measured")
        assert measures(ledger, A) == ()
        undo(ledger)
        assert measures(ledger, A) == (98, 99, 103)
