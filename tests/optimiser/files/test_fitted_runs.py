"""Runs that a fit was made from are drawn beside the curves, as long as they are what was fitted to."""

import hashlib
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from optimiser.files.fit_file import sha256_of
from optimiser.files.fitted_runs import fitted_runs
from optimiser.files.instruments.instrument_text import LARGEST
from optimiser.model.fitted import Fitted
from tests.helpers.paths import DEMO

RUNS = DEMO / "dyno" / "tarn_peaks.csv"
DESCRIBED = read_damper(DEMO / "dampers" / "tarn_shock.toml")


def with_runs(*files: Path) -> Fitted:
    return Fitted(place="x", day="2026-11-29", runs=1, moved=(), run_files=tuple(map(str, files)))


def test_without_a_fit_nothing_is_drawn() -> None:
    assert fitted_runs(DESCRIBED) == ()


def test_the_runs_of_a_fit_are_read_as_the_dyno_command_reads_them() -> None:
    found = fitted_runs(replace(DESCRIBED, fitted=with_runs(RUNS)))
    assert found
    assert all(run.peaks and run.clicks for run in found)


@pytest.mark.parametrize("spoil", [Path.unlink, lambda path: path.write_text("no run at all\n")])
def test_a_file_that_is_gone_or_spoiled_is_not_drawn_and_stops_nothing(tmp_path: Path, spoil) -> None:  # type: ignore[no-untyped-def]
    file = Path(shutil.copy(RUNS, tmp_path / "runs.csv"))
    spoil(file)
    assert fitted_runs(replace(DESCRIBED, fitted=with_runs(file))) == ()


def test_a_file_that_is_as_large_as_the_reader_takes_has_a_fingerprint(tmp_path: Path) -> None:
    long = tmp_path / "long.csv"
    long.write_bytes(b"0" * LARGEST)
    assert sha256_of(long) == hashlib.sha256(b"0" * LARGEST).hexdigest()
    long.write_bytes(b"0" * (LARGEST + 1))
    with pytest.raises(InputError, match=r"long\.csv"):
        sha256_of(long)
