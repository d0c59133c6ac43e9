"""A hundred and more spoiled dyno files: each read right or refused with the reason, none read wrong in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from damping_model.errors import ModelError
from optimiser.dyno.beside_model import beside_model, slips
from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.files.dyno.reader import read_session
from tests.helpers.counts import some_of
from tests.helpers.dyno_mangled import TARN, Mangled, all_mangled, true_force, write
from tests.helpers.dyno_twins import gas_of

CASES = list(all_mangled())
WITHIN = 0.02
"""Of the damping: what the rig's give and a mean over noisy cycles may take. [-]"""


def wrong(run: DynoRun, *, swapped: bool = False) -> list[str]:
    """Peaks that are not the twin's."""
    way = -1.0 if swapped else 1.0
    found = []
    for point in run.peaks:
        true = way * true_force(TARN, way * point.velocity)
        if abs(point.force - true) > WITHIN * abs(true - way * gas_of(TARN)) + 0.5:
            found.append(f"{point.force:.5g} N at {point.velocity:.4g} m/s, the twin has {true:.5g}")
    return found


def outcome_of(case: Mangled, path: Path) -> str | tuple[DynoRun, ...]:
    """What was read of a file, or why it was refused."""
    try:
        return read_session([path], damper=case.damper if case.beside else None).runs
    except (InputError, ModelError) as error:
        return str(error)


def test_there_are_more_than_a_hundred_kinds_of_them_all_different() -> None:
    assert len(CASES) > 150
    assert len({case.name for case in CASES}) == len(CASES)


@pytest.mark.parametrize("case", some_of(CASES, every=5), ids=lambda case: case.name)
def test_a_spoiled_file_is_read_right_or_refused_with_the_reason(case: Mangled, tmp_path: Path) -> None:
    path = write(case, tmp_path)
    outcome = outcome_of(case, path)
    if isinstance(outcome, str):
        assert str(path) in outcome
        assert "expected" in outcome.lower()
        assert len(outcome) < 700
        return
    assert outcome
    if case.beside:
        found = [one for run in outcome for one in beside_model(case.damper, run)]
        assert any("the units of force and velocity" in words for words in slips(found))
        return
    for run in outcome:
        # Which stroke is which cannot always be told from the figures; then it is said.
        unproven = any("is not proven by these figures" in note for note in run.notes)
        assert wrong(run) == [] or (unproven and wrong(run, swapped=True) == [])


@pytest.mark.parametrize(
    "name",
    [
        "a spike of 1e+06 N at 733",
        "words at the end",
        "blank lines inside",
        "header again inside",
        "1 rows missing",
    ],
)
def test_what_is_spoiled_a_little_is_still_read(name: str, tmp_path: Path) -> None:
    case = next(case for case in CASES if case.name == name)
    (run,) = read_session([write(case, tmp_path)]).runs
    assert len(run.peaks) == 2
    assert wrong(run) == []


def test_the_check_itself_sees_a_wrong_reading(tmp_path: Path) -> None:
    sine = next(case for case in CASES if case.name == "sine N as lbf")
    (run,) = read_session([write(sine, tmp_path)]).runs
    assert wrong(run)
    assert wrong(run, swapped=True)
