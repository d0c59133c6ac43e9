"""The demo shop's dyno runs are read, and say what is true of the shock that they were made of."""

from __future__ import annotations

import pytest

from damping_model.units import BAR
from optimiser.dyno.run import PlotKind
from optimiser.files.damper_builder import read_damper
from optimiser.files.dyno.reader import read_session
from tests.helpers.dyno_demo import FAST, FOLDER, PEAKS, REAL, SLOW, peaks_text, sine_text
from tests.helpers.paths import DEMO

DAMPER = read_damper(DEMO / "dampers" / "tarn_shock.toml").damper


def figures(text: str) -> list[float]:
    """Every number in a text."""
    words = text.replace(",", " ").replace(";", " ").split()
    return [float(word) for word in words if word.lstrip("-").replace(".", "", 1).isdecimal()]


def test_the_files_are_the_ones_that_the_helper_makes() -> None:
    for name, text in (("tarn_sine.csv", sine_text()), ("tarn_peaks.csv", peaks_text())):
        kept = (FOLDER / name).read_text(encoding="utf-8")
        assert figures(kept) == pytest.approx(figures(text), abs=0.11)


def test_the_recording_is_put_right_and_its_gas_is_that_of_the_real_shock_not_of_its_file() -> None:
    slow, fast = read_session([FOLDER / "tarn_sine.csv"], damper=DAMPER).runs
    assert fast.kind is PlotKind.CONTINUOUS
    assert fast.sample_rate == pytest.approx(100.0, rel=1e-3)
    assert fast.gas is not None
    assert fast.friction is not None
    assert abs(fast.gas.force - SLOW.gas) < fast.gas.plus_minus < abs(25 * BAR * DAMPER.displaced_area) / 10
    assert abs(fast.friction.force - REAL.friction) < fast.friction.plus_minus
    rebound, compression = (point.force for point in fast.peaks)
    assert compression == pytest.approx(FAST.compression + FAST.gas + FAST.friction, rel=0.01)
    assert rebound == pytest.approx(FAST.rebound + FAST.gas - FAST.friction, rel=0.015)
    assert slow.clicks == {"rebound": 7, "low-speed compression": 4}


def test_the_tables_hold_the_twin_s_points_at_three_clicks() -> None:
    runs = read_session([FOLDER / "tarn_peaks.csv"], damper=DAMPER).runs
    assert [run.clicks["rebound"] for run in runs] == list(PEAKS)
    for run, twin in zip(runs, PEAKS.values(), strict=True):
        assert [point.force for point in run.points] == pytest.approx(
            [point.force for point in twin.points], abs=0.05
        )
