"""An adjuster that is turned for nothing is turned back."""

from optimiser.model.answer import Candidate
from optimiser.model.band_result import EDGE
from optimiser.search.idle_adjusters import AS_NEAR, without_idle_adjusters
from tests.helpers import toy

SETTINGS = tuple({"own": own, "other": other} for own in range(2) for other in range(2))
"""The damper stands at the first."""


def turned(*, own: int, other: int, misfit: float = 0.0, error: float = 0.0) -> Candidate:
    """The stack as it is with adjusters turned; only what the rule reads is filled in."""
    return Candidate(
        stack=toy.stack((20, 0.2), (9, 0.3)),
        setting=2 * own + other,
        changes=(),
        forces=(),
        misfit=misfit,
        target_error=error,
        change_elsewhere=0.0,
        scarcity=0.0,
    )


def left(*unchanged: Candidate) -> list[int]:
    return [one.setting for one in without_idle_adjusters(unchanged, settings=SETTINGS, present=0)]


def test_the_other_strokes_adjuster_stays_where_it_lends_less_than_the_model_is_accurate() -> None:
    alone = turned(own=1, other=0, error=0.03)
    assert left(alone, turned(own=1, other=1, error=0.03 - EDGE / 2)) == [2]
    assert left(alone, turned(own=1, other=1, error=0.03 - 2 * EDGE)) == [2, 3]


def test_a_goal_that_both_adjusters_meet_together_keeps_both() -> None:
    missed = turned(own=1, other=0, misfit=1e-9)
    assert left(missed, turned(own=1, other=1)) == [2, 3]


def test_where_all_miss_a_turn_has_to_come_nearer_by_something() -> None:
    present = turned(own=0, other=0, misfit=1.6)
    assert left(present, turned(own=0, other=1, misfit=1.6 - AS_NEAR / 2)) == [0]
    assert left(present, turned(own=0, other=1, misfit=1.6 - 2 * AS_NEAR)) == [0, 1]


def test_the_present_setting_always_stays() -> None:
    assert left(turned(own=0, other=0, misfit=9.0)) == [0]
