"""The shop's own rides replace the table's first step, once there are enough, and it is said."""

from typing import Literal

from optimiser.intake.complaint import Vocabulary
from optimiser.intake.own_record import StepTaken, with_own_record

WORDS = "dives on the brakes"


def steps(*shifts: float, outcome: Literal["better", "same", "worse"] = "better") -> list[StepTaken]:
    return [StepTaken(WORDS, shift, outcome) for shift in shifts]


def test_too_few_rides_change_nothing(vocabulary: Vocabulary) -> None:
    assert with_own_record(vocabulary, steps(0.05, 0.06, 0.07, 0.06)) == vocabulary


def test_enough_rides_that_were_better_set_the_first_step_to_their_middle(vocabulary: Vocabulary) -> None:
    record = steps(0.04, 0.05, 0.06, 0.07, 0.30) + steps(0.2, 0.2, outcome="worse")
    row = with_own_record(vocabulary, record).symptom(WORDS)
    assert row.shift == 0.06
    assert row.reason.endswith(
        "First step from this shop's own record: +6 %, the middle of 5 rides that were better "
        "(7 on record); the table says +10 %."
    )


def test_rides_for_one_symptom_say_nothing_about_another(vocabulary: Vocabulary) -> None:
    learned = with_own_record(vocabulary, steps(*[0.06] * 9))
    assert [row for row in learned.symptoms if row.name != WORDS] == [
        row for row in vocabulary.symptoms if row.name != WORDS
    ]


def test_rides_that_were_not_better_never_count_as_enough(vocabulary: Vocabulary) -> None:
    record = steps(*[0.06] * 20, outcome="same") + steps(*[0.06] * 20, outcome="worse")
    assert with_own_record(vocabulary, record) == vocabulary
