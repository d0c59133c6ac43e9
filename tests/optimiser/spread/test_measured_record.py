"""What measured builds teach of the model's own error."""

import math

import numpy as np
import pytest

from optimiser.model.band_outcome import BandOutcome
from optimiser.model.goal import Role
from optimiser.spread.measured_record import MeasuredRecord, measured_record
from optimiser.spread.model_uncertainty import ModelUncertainty

USUAL = ModelUncertainty().of_the_change


def band(predicted: float, measured: float, unsure: float = 0.003) -> BandOutcome:
    return BandOutcome(
        name="support",
        role=Role.TARGET,
        predicted=predicted,
        low=predicted - 0.02,
        high=predicted + 0.02,
        unsure=unsure,
        measured=measured,
        uncertainty=0.003,
        share=1.0,
    )


def taught(*measured: list[BandOutcome]) -> MeasuredRecord:
    found = measured_record(measured)
    assert found is not None
    return found


def builds(share: float, count: int, seed: int) -> list[list[BandOutcome]]:
    rng = np.random.default_rng(seed)
    made = []
    for _ in range(count):
        predicted = float(rng.uniform(0.06, 0.3))
        off = rng.normal(0, math.hypot(0.003, 0.003, share * predicted))
        made.append([band(predicted, predicted + float(off))])
    return made


def test_before_the_first_build_nothing_is_said() -> None:
    assert measured_record([]) is None


@pytest.mark.parametrize("share", [0.02, 0.10, 0.25])
def test_many_builds_bring_out_the_error_that_the_model_has(share: float) -> None:
    found = [taught(*builds(share, 60, seed)).uncertainty.of_the_change for seed in range(6)]
    assert np.mean(found) == pytest.approx(share, rel=0.25)


def test_one_build_moves_it_little_and_the_more_the_further_off_it_is() -> None:
    shares = [taught([band(0.1, measured)]).uncertainty.of_the_change for measured in (0.10, 0.12, 0.16)]
    assert shares == sorted(shares)
    assert shares[0] > 0.5 * USUAL
    assert shares[0] < USUAL * 1.5


def test_a_band_that_was_to_stay_says_nothing_of_a_share_of_the_change() -> None:
    alone, both = taught([band(0.1, 0.11)]), taught([band(0.1, 0.11), band(0.0, 0.05)])
    assert both.uncertainty == alone.uncertainty
    assert (both.bands, both.all_bands) == (1, 2)


def test_the_ratio_is_what_the_dyno_showed_of_what_was_promised() -> None:
    found = taught([band(0.10, 0.08)], [band(0.20, 0.16)])
    assert found.ratio == pytest.approx(0.8)
    assert 0 < found.ratio_off < 0.2
    assert (found.builds, found.inside, found.all_bands) == (2, 1, 2)


def test_two_bands_of_one_damper_count_as_one_build() -> None:
    """Twice the same band in one build teaches as much as once."""
    once, twice = taught([band(0.1, 0.13)]), taught([band(0.1, 0.13), band(0.1, 0.13)])
    assert once.uncertainty.of_the_change == pytest.approx(twice.uncertainty.of_the_change)
