"""The demo shop's ride logs are read, and say what is true of the rides that they were made of."""

from __future__ import annotations

import pytest

from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.ride_log.reader import read_log
from optimiser.ride_log.motion import motion_of
from tests.helpers.counts import thorough_only
from tests.helpers.paths import DEMO
from tests.helpers.ride_demo import FOLDER, after_text, before_text

BIKE = read_toml(DEMO / "bikes" / "oxlip_trail.toml", BikeFile, what="bike").machine()


@thorough_only("rides them again")
def test_the_files_are_the_ones_that_the_helper_makes() -> None:
    for name, made in (("oxlip_trail.csv", before_text()), ("oxlip_after.csv", after_text())):
        kept = (FOLDER / name).read_text(encoding="utf-8").splitlines()
        lines = made.splitlines()
        assert kept[0] == lines[0]
        for line, other in zip(kept[1::97], lines[1::97], strict=True):
            figures, others = (list(map(float, one.split(","))) for one in (line, other))
            assert figures == pytest.approx(others, abs=0.03)


def test_the_rear_sensor_s_zero_is_found_from_wheels_in_the_air() -> None:
    log = read_log(FOLDER / "oxlip_trail.csv", machine=BIKE)
    motions = [
        motion_of(trace, corner.leverage if corner else None)
        for trace, corner in zip(log.traces, log.corners, strict=True)
    ]
    assert [motion.corner for motion in motions] == ["front", "rear"]
    (note,) = [note for note in motions[1].notes if "In the air" in note]
    assert float(note.split()[6]) == pytest.approx(3.0, abs=0.5)
