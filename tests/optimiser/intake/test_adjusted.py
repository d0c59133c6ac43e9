"""A band asked otherwise by its name: whether it is listed, comes from words, or is there by default."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.errors import InputError
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.adjusted import Adjusted, shift_of, with_shift
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.complaint import Complaint
from optimiser.intake.job_goal import Asked, JobGoal, goal_for
from optimiser.intake.machine import Machine, Rider
from optimiser.model.goal import Window

VELOCITIES = np.geomspace(0.05, 0.2, 5)
BEFORE = np.array([80.0, 120.0, 170.0, 230.0, 300.0])


def asked_for(asked: Asked) -> JobGoal:
    return goal_for(
        asked,
        vocabulary=read_vocabulary(),
        machine=Machine(name="none", kind="bicycle", mass=30.0, corners=()),
        rider=Rider(name="none", mass=70.0),
        sag=None,
        forces=lambda velocities: 500 * np.sqrt(np.abs(velocities)),
        least_height=0.0,
        most_height=5e-3,
    )


def window(made: JobGoal, name: str) -> Window:
    return next(one for one in made.goal.windows if one.name == name)


def share(made: JobGoal, name: str) -> float:
    return window(made, name).upper[0] / window(made, name).before[0] - 1


WORDS = Complaint(symptom="wallows in long turns", shift=0.10)


@pytest.mark.parametrize("name", ["high speed", "all rebound"])
def test_a_band_that_came_from_words_or_by_default_gets_another_tolerance(name: str) -> None:
    plain = asked_for(Asked(complaint=WORDS))
    wide = asked_for(Asked(complaint=WORDS, adjusted=Adjusted(tolerances={name: 0.2})))
    assert share(wide, name) == pytest.approx(0.2)
    assert share(plain, name) < 0.1
    others = [one for one in plain.goal.windows if one.name != name]
    assert others == [one for one in wide.goal.windows if one.name != name]
    assert any(f"'{name}' is allowed 20 % instead of" in reason for reason in wide.reasons)


def test_a_stretch_that_no_band_covers_gets_a_limit_of_its_own() -> None:
    plain = asked_for(Asked(complaint=WORDS, familiarity=0.15))
    names = [one.name for one in plain.goal.windows if one.name.endswith("m/s")]
    wide = asked_for(Asked(complaint=WORDS, familiarity=0.15, adjusted=Adjusted(tolerances={names[0]: 0.3})))
    assert share(wide, names[0]) == pytest.approx(0.3)
    assert all(share(wide, name) == pytest.approx(0.15) for name in names[1:])
    assert f"'{names[0]}' is allowed 30 % instead of 15 %, by option." in wide.reasons


def test_a_target_is_asked_for_another_shift_and_the_reasons_say_so() -> None:
    plain = asked_for(Asked(complaint=WORDS))
    target = plain.goal.windows[0].name
    less = asked_for(Asked(complaint=WORDS, adjusted=Adjusted(shifts={target: 0.05})))
    assert np.array(less.goal.windows[0].desired) == pytest.approx(
        1.05 * np.array(less.goal.windows[0].before)
    )
    assert less.goal.windows[1:] == plain.goal.windows[1:]
    assert f"'{target}' is asked for 5 % instead of 10 %, by option." in less.reasons


def test_the_limit_on_everything_stays_where_less_is_asked() -> None:
    """It leaves room for the shift that the job asks for; a smaller one does not narrow it."""
    target = TargetBand("slow", "compression", 0.05, 0.15, 0.04, shift=0.25)
    asked = Asked(targets=(target,), familiarity=0.3)
    less = Asked(targets=(target,), familiarity=0.3, adjusted=Adjusted(shifts={"slow": 0.1}))
    assert asked_for(asked).familiarity == asked_for(less).familiarity == 0.3


def test_names_that_are_not_there_are_refused_with_those_that_are() -> None:
    for adjusted, option in (
        (
            Adjusted(tolerances={"hihg speed": 0.1}),
            "--hold: got 'hihg speed', expected a held band of this job",
        ),
        (Adjusted(shifts={"high speed": 0.1}), "--ask: got 'high speed', expected a target of this job"),
    ):
        with pytest.raises(InputError, match=option) as refused:
            asked_for(Asked(complaint=WORDS, adjusted=adjusted))
        assert "'" in str(refused.value).split("this job:")[1]


def test_a_name_of_two_bands_is_refused() -> None:
    twice = tuple(HoldBand("fast", stroke, 0.6, 1.5, 0.05) for stroke in ("compression", "rebound"))
    target = TargetBand("slow", "compression", 0.05, 0.15, 0.04, shift=0.1)
    with pytest.raises(InputError, match="the name of 2 bands"):
        asked_for(Asked(targets=(target,), holds=twice, adjusted=Adjusted(tolerances={"fast": 0.1})))


@pytest.mark.parametrize("newtons", [40.0, -30.0])
@pytest.mark.parametrize("part", [0.4, 1.0, 1.7])
def test_a_target_in_newtons_asks_for_the_newtons_that_come_to_the_shift(newtons: float, part: float) -> None:
    band = TargetBand("slow", "compression", 0.05, 0.2, 0.04, shift_force=newtons)
    shift = part * shift_of(band, BEFORE, VELOCITIES)
    made = with_shift(band, shift, BEFORE, VELOCITIES)
    assert shift_of(made, BEFORE, VELOCITIES) == pytest.approx(shift, abs=1e-12)
    assert made.shift is None
    if part == 1.0:
        assert made == band
