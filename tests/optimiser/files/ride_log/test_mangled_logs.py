"""Spoiled logs are read right or refused with the reason; those that only look odd are read."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from damping_model.errors import ModelError
from optimiser.errors import InputError
from optimiser.files.ride_log.reader import SaidOfLog, read_log
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.ride_log.motion import motion_of
from optimiser.ride_log.shares import shares
from optimiser.ride_log.trace import WheelMotion
from tests.helpers.counts import some_of
from tests.helpers.log_mangled import MACHINE, MangledLog, all_mangled, truth

BANDS = tuple(read_vocabulary().bands.values())
COUNT = 140


@cache
def every() -> list[MangledLog]:
    """All of them, made when the first is tried."""
    return list(all_mangled())


def test_there_are_more_than_a_hundred_of_them_and_their_names_differ() -> None:
    assert len({case.name for case in every()}) == len(every()) == COUNT


def rear_of(case: MangledLog, path: Path) -> WheelMotion:
    path.write_text(case.text, encoding="utf-8")
    log = read_log(path, machine=MACHINE, said=SaidOfLog(calibrations=case.calibrations))
    pairs = zip(log.traces, log.corners, strict=True)
    trace, corner = next(pair for pair in pairs if pair[0].corner == "rear")
    assert corner is not None
    return motion_of(trace, corner.leverage)


def is_right(motion: WheelMotion) -> bool:
    """Whether travel and shares are those of the ride, over what the log has of it."""
    known = truth().motion
    at = motion.time[motion.counted]
    before_pause = at < known.time[-1]
    off = np.interp(at, known.time, known.wheel_travel) - motion.wheel_travel[motion.counted]
    if motion.time[-1] < known.time[-1] + 0.1 and np.abs(np.median(off[before_pause])) > 0.004:
        return False
    seen = np.interp(known.time, motion.time, motion.counted) > 0.5
    if motion.time[-1] > known.time[-1] + 0.1:
        seen = np.ones(known.time.size, dtype=bool)
    right, read = shares(known, BANDS, among=seen), shares(motion, BANDS)
    return all(abs(one.time - two.time) < 0.03 for one, two in zip(right, read, strict=True))


@pytest.mark.parametrize("number", some_of(range(COUNT), every=11))
def test_a_spoiled_log_is_read_right_or_refused_with_the_reason(number: int, tmp_path: Path) -> None:
    case = every()[number]
    motion, refused = read_or_refused(case, tmp_path / "spoiled.csv")
    if refused:
        assert not case.reads, f"{case.name}: refused, since {refused}"
        assert "spoiled.csv" in refused or "calibration" in refused, f"{case.name}: {refused}"
        assert "expected" in refused, f"{case.name}: {refused}"
    elif case.beside:
        assert motion is not None
        assert motion.wheel_travel[motion.counted].max() < 0.8 * motion.travel_end, case.name
    else:
        assert motion is not None
        assert is_right(motion), case.name


def read_or_refused(case: MangledLog, path: Path) -> tuple[WheelMotion | None, str]:
    try:
        return rear_of(case, path), ""
    except (InputError, ModelError) as error:
        return None, str(error)
