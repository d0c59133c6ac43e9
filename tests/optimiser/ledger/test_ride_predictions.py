"""The record of predicted rides: what is written reads back, and belongs to the person whose job it is."""

from pathlib import Path

import pytest

from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.people import export_person
from optimiser.ledger.ride_predictions import record_ride, recorded_rides
from optimiser.ride_log.prediction_error import PredictionError
from tests.helpers.ledger_shop import A, D, reserved_job

WHEEL = PredictionError(corner="rear", seconds=20.0, travel=0.004, velocity=0.05, deepest=-0.002, share=0.013)


def test_what_is_written_reads_back_and_of_the_same_files_the_latest_counts(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
        record_ride(ledger, "ines", [WHEEL], files="abc")
        record_ride(ledger, "ines", [WHEEL, WHEEL], files="abc")
        record_ride(ledger, "ines", [WHEEL], files="def")
        assert [ride.wheels for ride in recorded_rides(ledger)] == [(WHEEL, WHEEL), (WHEEL,)]
        assert examine(ledger) == ()


def test_a_job_that_the_ledger_does_not_know_is_refused(shop: Path) -> None:
    with Ledger.open(shop) as ledger, pytest.raises(RefusedError):
        record_ride(ledger, "nobody", [WHEEL], files="abc")


def test_it_is_part_of_what_a_person_is_given(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
        record_ride(ledger, "ines", [WHEEL], files="abc")
        with ledger.reading() as connection:
            (name,) = connection.execute("SELECT name FROM person").fetchone()
        (ride,) = export_person(ledger, name)["ride_predictions"]
    assert ride["wheels"][0]["corner"] == "rear"
