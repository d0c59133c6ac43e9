"""A job in bands, in words or in one instant becomes a goal whose reasons can be read."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from optimiser.errors import InputError
from optimiser.intake.at_the_wheel import band_at_the_wheel
from optimiser.intake.bands import Band, HoldBand, TargetBand
from optimiser.intake.complaint import Complaint, Vocabulary
from optimiser.intake.job_goal import Asked, JobGoal, corner_of, goal_for
from optimiser.intake.machine import Machine, Rider
from optimiser.intake.narrow import EventAsked
from optimiser.model.goal import Role


@pytest.fixture
def goal(bike: Machine, rider: Rider, vocabulary: Vocabulary) -> Callable[..., Any]:
    def build(**asked: Any) -> JobGoal:
        return goal_for(
            Asked(**asked),
            vocabulary=vocabulary,
            machine=bike,
            rider=rider,
            sag=None,
            forces=lambda v: 1500 * abs(v),
            least_height=0.002,
            most_height=0.003,
        )

    return build


def roles(built: JobGoal) -> list[Role]:
    return [window.role for window in built.goal.windows]


def test_bands_given_outright_stand_as_they_are(goal: Callable[..., Any]) -> None:
    target = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)
    hold = HoldBand("edges", "compression", 0.7, 1.6, 0.02)
    built = goal(targets=(target,), holds=(hold,), complaint=Complaint(symptom="never looked at"))
    assert [w.name for w in built.goal.windows] == ["support", "edges", "all rebound"]


def test_a_broad_complaint_in_words_moves_one_band_and_limits_nothing_between(
    goal: Callable[..., Any],
) -> None:
    built = goal(complaint=Complaint(symptom="wallows in long turns"))
    assert roles(built) == [Role.TARGET, Role.HOLD, Role.HOLD, Role.HOLD]
    assert built.look_first == ("sag", "anti-squat")
    assert any("common practice" in reason for reason in built.reasons)


def test_the_shop_says_how_far_each_velocity_of_a_target_follows_its_average(
    bike: Machine, rider: Rider, vocabulary: Vocabulary
) -> None:
    target = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)
    built = goal_for(
        Asked(targets=(target,)),
        vocabulary=replace(vocabulary, right_way=(0.5, 1.5)),
        machine=bike,
        rider=rider,
        sag=None,
        forces=lambda v: 1500 * abs(v),
        least_height=0.002,
        most_height=0.003,
    )
    window = built.goal.windows[0]
    assert [force / before for force, before in zip(window.lower, window.before, strict=True)] == (
        pytest.approx([1.04] * 5)
    )
    assert [force / before for force, before in zip(window.upper, window.before, strict=True)] == (
        pytest.approx([1.12] * 5)
    )


def test_one_instant_makes_a_narrow_band_with_its_assumptions_and_keeps_the_rest_familiar(
    goal: Callable[..., Any],
) -> None:
    asked = Complaint(symptom="dives on the brakes", shift=0.06)
    built = goal(complaint=asked, event=EventAsked("braking dive", deceleration=6.0))
    target = built.goal.windows[0]
    assert target.velocities[0] == pytest.approx(0.166, abs=5e-4)
    assert target.velocities[-1] == pytest.approx(0.332, abs=5e-4)
    assert Role.FAMILIARITY in roles(built)
    assert "The velocities are those of the instant: braking dive." in built.reasons
    assert "Numbers given for shift win over the words." in built.reasons
    assert built.reasons[0].startswith("Assumed: braking at 6 m/s^2")
    assert any("within" in reason and reason.startswith("Held") for reason in built.reasons)


def test_the_corner_is_the_one_named_or_the_only_one_at_that_end(
    bike: Machine, vocabulary: Vocabulary
) -> None:
    def of(**words: Any) -> str:
        return corner_of(Complaint(**words), vocabulary, bike).name

    assert of(symptom="dives on the brakes") == "front"
    assert of(symptom="kicks up off a lip") == "rear"
    assert of(symptom="harsh over chatter", corner="rear") == "rear"
    with pytest.raises(InputError, match=r"expected one of 'front', 'rear'\. Add corner under"):
        of(symptom="harsh over chatter")


def test_one_shaft_band_seen_from_the_wheel_by_hand(bike: Machine) -> None:
    """2.5:1 all along: 0.1 to 0.4 m/s at the shaft are 0.25 to 1 at the wheel; 1500 N s/m are 240."""
    band = Band("mid", "compression", 0.1, 0.4, 0.03)
    rows = band_at_the_wheel(band=band, corner=bike.corner("rear"), sag=0.04, forces=lambda v: 1500 * abs(v))
    assert [row.place for row in rows] == ["sag", "middle", "end"]
    for row in rows:
        assert (row.low, row.high) == (pytest.approx(0.25), pytest.approx(1.0))
        assert (row.force_low, row.force_high) == (pytest.approx(60), pytest.approx(240))
        assert row.damping == pytest.approx(240)


def test_a_linkage_without_a_damper_still_shows_its_velocities(bike: Machine) -> None:
    band = Band("mid", "rebound", 0.1, 0.4, 0.03)
    row = band_at_the_wheel(band=band, corner=bike.corner("rear"), sag=0.04)[0]
    assert row.shaft_travel == pytest.approx(0.016)
    assert row.force_low is None


def test_a_stroke_of_which_nothing_is_said_is_held_whole(goal: Callable[..., Any]) -> None:
    window = goal(complaint=Complaint(symptom="wallows in long turns")).goal.windows[-1]
    assert (window.velocities[0], window.velocities[-1]) == (pytest.approx(-0.04), pytest.approx(-1.5))
    assert window.upper[0] == pytest.approx(1.06 * window.before[0])


def test_a_stroke_that_the_job_speaks_of_is_held_as_the_job_says(goal: Callable[..., Any]) -> None:
    target = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)
    hold = HoldBand("some", "rebound", 0.2, 0.4, 0.02)
    assert [w.name for w in goal(targets=(target,), holds=(hold,)).goal.windows] == ["support", "some"]


def test_a_stroke_that_nothing_reaches_is_not_asked_for(
    bike: Machine, rider: Rider, vocabulary: Vocabulary
) -> None:
    built = goal_for(
        Asked(complaint=Complaint(symptom="wallows in long turns"), familiarity=0.15),
        vocabulary=vocabulary,
        machine=bike,
        rider=rider,
        sag=None,
        forces=lambda v: 1500 * abs(v),
        least_height=0.002,
        most_height=0.003,
        across=False,
    )
    assert (built.goal.velocities > 0).all()
