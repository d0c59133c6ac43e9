"""What a dyno measured of builds: the latest counts, an undone build does not, and nothing else is touched."""

from pathlib import Path

from optimiser.files.job_reader import read_job
from optimiser.ledger.builds import done
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.job_record import with_free_shelf
from optimiser.ledger.measured_builds import measured_builds, record_measurement
from optimiser.ledger.undo import undo
from optimiser.model.band_outcome import BandOutcome
from optimiser.model.goal import Role
from optimiser.spread.model_uncertainty import ModelUncertainty
from tests.helpers.ledger_shop import A, D, reserved_job, snapshot
from tests.helpers.paths import STIFF_SHOP


def band(measured: float) -> BandOutcome:
    return BandOutcome(
        name="support",
        role=Role.TARGET,
        predicted=0.10,
        low=0.08,
        high=0.12,
        unsure=0.008,
        measured=measured,
        uncertainty=0.005,
        share=1.0,
    )


def built(shop: Path) -> int:
    with Ledger.open(shop) as ledger:
        reserved_job(ledger, "ines", taken={A: 1}, returned={D: 1})
        return done(ledger, "ines").number


def test_what_is_written_reads_back_and_touches_no_stock(shop: Path) -> None:
    number = built(shop)
    with Ledger.open(shop) as ledger:
        before = snapshot(ledger)
        assert record_measurement(ledger, number, [band(0.11)], runs="abc") == ()
        (found,) = measured_builds(ledger)
        assert (found.job, found.bands) == ("ines", (band(0.11),))
        assert found.bands[0].inside
        assert snapshot(ledger) == before
        assert examine(ledger) == ()


def test_of_two_measurements_of_one_build_the_latest_counts(shop: Path) -> None:
    number = built(shop)
    with Ledger.open(shop) as ledger:
        record_measurement(ledger, number, [band(0.15)], runs="abc")
        assert record_measurement(ledger, number, [band(0.11)], runs="def") == (band(0.15),)
        assert [one.bands for one in measured_builds(ledger)] == [(band(0.11),)]


def test_a_measurement_can_be_forgotten_and_an_undone_build_takes_its_own_along(shop: Path) -> None:
    number = built(shop)
    with Ledger.open(shop) as ledger:
        record_measurement(ledger, number, [band(0.11)], runs="abc")
        record_measurement(ledger, number, [], runs="")
        assert measured_builds(ledger) == ()
        record_measurement(ledger, number, [band(0.11)], runs="abc")
        undo(ledger)
        assert measured_builds(ledger) == ()
        assert examine(ledger) == ()


def test_a_job_is_planned_with_the_error_that_measured_builds_have_shown(shop: Path) -> None:
    job = read_job(STIFF_SHOP / "jobs" / "a_more_support.toml")
    number = built(shop)
    with Ledger.open(shop) as ledger:
        assert with_free_shelf(job, ledger).model_uncertainty == ModelUncertainty()
        record_measurement(ledger, number, [band(0.16)], runs="abc")
        wider = with_free_shelf(job, ledger).model_uncertainty
        assert wider.of_the_change > 1.1 * ModelUncertainty().of_the_change
