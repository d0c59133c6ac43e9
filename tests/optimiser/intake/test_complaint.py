"""What a rider says leads to a place on the curve, and numbers win over words."""

import pytest

from optimiser.errors import InputError
from optimiser.intake.complaint import Complaint, Vocabulary, interpret
from optimiser.intake.goal_builder import goal_from_bands

# Words, end, stroke, band and way of each complaint: common practice, no source.
TABLE = [
    ("dives on the brakes", "front", "compression", "low", 1),
    ("stays high entering the corner", "front", "compression", "low", -1),
    ("wallows in long turns", "rear", "compression", "low", 1),
    ("harsh over chatter", "either", "compression", "mid", -1),
    ("spikes on square edges", "front", "compression", "high", -1),
    ("uses all travel on landings", "either", "compression", "high", 1),
    ("kicks up off a lip", "rear", "rebound", "high", 1),
    ("nervous and tops out", "either", "rebound", "low", 1),
    ("packs down over repeated hits", "either", "rebound", "mid", -1),
    ("slow to come back", "either", "rebound", "low", -1),
    ("blows through the travel", "either", "compression", "mid", 1),
    ("deflects off edges", "either", "compression", "high", -1),
    ("swaps side to side", "rear", "rebound", "mid", 1),
]


@pytest.mark.parametrize(("words", "end", "stroke", "band", "way"), TABLE)
def test_each_complaint_points_to_its_end_stroke_band_and_direction(
    vocabulary: Vocabulary, words: str, end: str, stroke: str, band: str, way: int
) -> None:
    found = interpret(Complaint(symptom=words), vocabulary)
    (target,) = found.targets
    assert found.symptom is not None
    assert found.symptom.end == end
    assert target.stroke == stroke
    assert (target.low, target.high) == (vocabulary.bands[band].low, vocabulary.bands[band].high)
    assert target.shift is not None
    assert target.shift * way > 0
    assert found.look_first


def test_words_ask_for_an_average_unless_the_job_asks_for_every_velocity(vocabulary: Vocabulary) -> None:
    for strict in (False, True):
        complaint = Complaint(symptom="dives on the brakes", at_every_velocity=strict)
        (target,) = interpret(complaint, vocabulary).targets
        assert target.at_every_velocity is strict


def test_the_table_has_no_row_that_these_tests_do_not_know(vocabulary: Vocabulary) -> None:
    assert [row.name for row in vocabulary.symptoms] == [row[0] for row in TABLE]


@pytest.mark.parametrize("words", [row[0] for row in TABLE])
def test_every_complaint_makes_a_goal_whose_held_bands_leave_the_target_a_guard(
    vocabulary: Vocabulary, words: str
) -> None:
    found = interpret(Complaint(symptom=words), vocabulary)
    goal = goal_from_bands(
        targets=found.targets,
        holds=found.holds,
        familiarity=None,
        forces=lambda v: 1000 * abs(v),
        least_height=0.0,
        most_height=0.01,
    )
    assert len(goal.windows) >= 2
    target = found.targets[0]
    for hold in found.holds:
        assert hold.high <= target.low / 1.99 or hold.low >= target.high * 1.99


def test_the_words_need_not_be_the_shops_own(vocabulary: Vocabulary) -> None:
    assert vocabulary.symptom("Front dives!").name == "dives on the brakes"
    assert vocabulary.symptom("it bottoms out on everything").name == "uses all travel on landings"


def test_a_slip_of_the_pen_is_refused_with_the_nearest(vocabulary: Vocabulary) -> None:
    with pytest.raises(InputError, match=r"got symptom 'pakcs down over hits'.*Did you mean 'packs down"):
        vocabulary.symptom("pakcs down over hits")


def test_words_that_are_near_nothing_are_answered_with_the_whole_table(vocabulary: Vocabulary) -> None:
    with pytest.raises(InputError, match=r"Known: 'dives on the brakes'.*Or give the band in numbers"):
        vocabulary.symptom("purple")


def test_two_complaints_at_once_are_refused_and_both_named(vocabulary: Vocabulary) -> None:
    with pytest.raises(
        InputError, match=r"names 'dives on the brakes' and 'slow to come back'; expected one"
    ):
        vocabulary.symptom("dives on the brakes and is slow to come back")


def test_a_sentence_offers_what_is_heard_in_it(vocabulary: Vocabulary) -> None:
    heard = vocabulary.heard_in("It wallows in long turns, and it bottoms out. I like the rest.")
    assert [row.name for row in heard] == ["wallows in long turns", "uses all travel on landings"]


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        ("It just blows through.", "blows through the travel"),
        ("It hangs up on every root", "deflects off edges"),
        ("The fork deflects off rocks", "deflects off edges"),
        ("the rear swaps when I brake", "swaps side to side"),
        ("front pushes in flat corners", "stays high entering the corner"),
        ("it packs in the whoops", "packs down over repeated hits"),
        ("Keeps packing!", "packs down over repeated hits"),
        ("harsh", "harsh over chatter"),
        ("Harsh off the top, else fine", "harsh over chatter"),
        ("harsh on square edges", "spikes on square edges"),
        ("gets harsher with every hit", "packs down over repeated hits"),
    ],
)
def test_a_riders_own_words_lead_to_one_row(vocabulary: Vocabulary, said: str, heard: str) -> None:
    assert [row.name for row in vocabulary.heard_in(said)] == [heard]
    assert vocabulary.symptom(said).name == heard


def test_a_word_inside_another_word_is_not_heard(vocabulary: Vocabulary) -> None:
    assert vocabulary.heard_in("It unpacks its charming harshness") == ()


def test_numbers_win_over_words_and_the_reasons_say_so(vocabulary: Vocabulary) -> None:
    asked = Complaint(symptom="dives on the brakes", low=0.08, high=0.12, shift=0.05, tolerance=0.02)
    found = interpret(asked, vocabulary)
    (target,) = found.targets
    assert (target.low, target.high, target.shift, target.tolerance) == (0.08, 0.12, 0.05, 0.02)
    assert "Numbers given for shift, from, to win over the words." in found.reasons


def test_numbers_alone_will_do(vocabulary: Vocabulary) -> None:
    found = interpret(Complaint(stroke="rebound", low=0.3, high=0.5, shift=-0.1), vocabulary)
    assert found.symptom is None
    assert found.targets[0].name == "rebound 0.3 to 0.5 m/s"


def test_half_of_the_numbers_will_not_do(vocabulary: Vocabulary) -> None:
    with pytest.raises(InputError, match="got no symptom and no stroke, to, expected a symptom"):
        interpret(Complaint(low=0.3, shift=-0.1), vocabulary)


def test_a_narrow_target_leaves_its_own_band_held_on_both_sides(vocabulary: Vocabulary) -> None:
    found = interpret(Complaint(stroke="compression", low=0.30, high=0.32, shift=0.1), vocabulary)
    held = [(hold.name, hold.low, pytest.approx(hold.high)) for hold in found.holds]
    assert held == [("low speed", 0.04, 0.15), ("high speed", 0.64, 1.5)]
    found = interpret(Complaint(stroke="compression", low=0.07, high=0.08, shift=0.1), vocabulary)
    assert [hold.name for hold in found.holds] == ["mid speed", "high speed"]
