"""Steps a person can follow, numbers a person can read."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.edits import changes_between
from optimiser.model.percent import percent_text
from optimiser.model.stock import ShimKey
from optimiser.model.taken import Taken
from optimiser.report.cautions import CAUTIONS, cautions
from optimiser.report.page import from_drawer
from optimiser.report.sheet import AdjusterMove, height_advice
from optimiser.report.steps import places_in, places_out, steps
from optimiser.report.unit_system import UnitSystem
from tests.helpers.sheet_samples import FEW, key

HOLE = 8000


def test_places_are_counted_from_the_piston_starting_at_one() -> None:
    """No shim between piston and place makes it the first."""
    (step,) = steps([Change(key(20, 0.2), key(20, 0.15), 0, 0)], hole=HOLE)
    assert step.sentence == "Take out 20x0.20, put in 20x0.15: 1st from the piston."


def test_a_swap_is_counted_in_the_stack_as_it_then_lies() -> None:
    """Two shims before it have gone by then, from the nut inwards."""
    todo = steps(
        [
            Change(key(20, 0.2), None, 2, None),
            Change(key(18, 0.2), None, 5, None),
            Change(key(14, 0.2), key(14, 0.1), 17, 15),
        ],
        hole=HOLE,
    )
    assert [step.sentence for step in todo] == [
        "Take out 18x0.20: 6th from the piston.",
        "Take out 20x0.20: 3rd from the piston.",
        "Take out 14x0.20, put in 14x0.10: 16th from the piston.",
    ]


def test_a_shim_that_comes_elsewhere_than_one_leaves_is_a_step_of_its_own() -> None:
    """One change in the count, two places for the hands: it must not read as a swap."""
    todo = steps([Change(key(14, 0.2), key(20, 0.1), 17, 3)], hole=HOLE)
    assert [(s.take_out, s.put_in) for s in todo] == [("14x0.20", ""), ("", "20x0.10")]
    assert [s.where for s in todo] == ["18th from the piston", "4th from the piston"]


def test_doing_the_steps_by_hand_in_order_gives_the_stack_that_was_planned() -> None:
    """For 2,000 pairs of stacks, with every place looked up in the stack as it lies at that step."""
    rng = np.random.default_rng(20)
    types = [key(outer, thickness) for outer in (20, 18, 16) for thickness in (0.1, 0.15)]
    for _ in range(2000):
        old = [types[i] for i in rng.integers(len(types), size=rng.integers(2, 9))]
        new = list(old)
        for _ in range(rng.integers(1, 4)):
            if len(new) > 1 and rng.random() < 0.5:
                new.pop(rng.integers(len(new)))
            new.insert(rng.integers(len(new) + 1), types[rng.integers(len(types))])
        before, after = (Stack(tuple(one.shim for one in keys)) for keys in (old, new))
        lying = [str(one) for one in old]
        for step in steps(changes_between(before, after), hole=HOLE, new=after):
            if step.take_out:
                assert lying.pop(step.place) == step.take_out
            if step.put_in:
                lying.insert(step.place, step.put_in)
        assert lying == [str(one) for one in new]


def test_as_many_steps_name_the_shelf_as_shims_come_from_it() -> None:
    """A shim that only moves comes from the pin, not from the drawer."""
    moved = Change(key(18, 0.1), key(18, 0.1), 4, 2)
    taken = (Taken(key(16, 0.1), 1, 4, "B3"),)
    todo = steps(
        [moved, *[Change(None, key(16, 0.1), None, place) for place in (5, 6)]], hole=HOLE, taken=taken
    )
    assert [step.taken for step in todo] == [None, None, taken[0], None]
    assert from_drawer(taken[0]) == "hole 8, drawer B3, uses 1 of 4"
    assert taken[0].left == 3


@pytest.mark.parametrize(
    ("pack", "place", "words"),
    [
        ((0.3, 0.1, 0.1), 0, "1st from the piston, on the piston's side of the 20x0.10"),
        ((0.1, 0.1, 0.3), 2, "3rd from the piston, behind the 20x0.10"),
        ((0.1, 0.3, 0.15), 1, "2nd from the piston, between the 20x0.10 and the 20x0.15"),
        ((0.1, 0.1, 0.3, 0.1), 2, "3rd from the piston, among the 20x0.10, 2 of them on the piston's side"),
        ((0.1, 0.1, 0.1), 1, "2nd from the piston"),
    ],
)  # fmt: skip
def test_where_in_its_pack_a_shim_goes_is_said_when_it_counts(
    pack: tuple[float, ...], place: int, words: str
) -> None:
    """Among shims of one thickness it does not."""
    new = Stack(tuple(one.shim for one in (*(key(20, t) for t in pack), key(17, 0.1), key(9, 0.3))))
    (step,) = steps([Change(None, key(20, pack[place]), None, place)], hole=HOLE, new=new)
    assert step.where == words


def test_among_shims_that_only_add_height_no_order_is_asked_for() -> None:
    new = Stack(tuple(one.shim for one in (key(20, 0.1), key(9, 0.1), key(9, 0.3))))
    (step,) = steps([Change(None, key(9, 0.1), None, 1)], hole=HOLE, new=new)
    assert step.where == "2nd from the piston"


def test_what_leaves_comes_first_whatever_order_the_search_gives() -> None:
    changes = [Change(None, key(9, 0.1), None, 6), Change(key(20, 0.2), None, 2, None)]
    assert [(s.take_out, s.put_in) for s in steps(changes, hole=HOLE)] == [("20x0.20", ""), ("", "9x0.10")]


@pytest.mark.parametrize(("after", "word"), [(0, "1st"), (1, "2nd"), (2, "3rd"), (3, "4th"), (10, "11th"),
                                             (11, "12th"), (12, "13th"), (20, "21st"), (21, "22nd")])  # fmt: skip
def test_ordinals_are_english(after: int, word: str) -> None:
    """1st, 2nd, 3rd, but 11th, 12th, 13th."""
    (step,) = steps([Change(key(20, 0.2), None, after, None)], hole=HOLE)
    assert step.where.startswith(f"{word} from")


def test_a_ring_is_told_with_its_hole() -> None:
    """A hole that is not the shaft's is written out, for the drawer holds both."""
    (step,) = steps([Change(None, key(18, 0.3, 16), None, 2)], hole=HOLE)
    assert step.put_in == "18x0.30 hole 16"


def test_marked_places_are_those_of_the_changes() -> None:
    """What leaves is marked in the old stack, what comes in the new one."""
    changes = [Change(key(17, 0.2), key(17, 0.25), 3, 2), Change(None, key(9, 0.1), None, 5)]
    assert (places_out(changes), places_in(changes)) == ({3}, {2, 5})


def test_height_that_is_lost_comes_back_as_spacers() -> None:
    """A lower stack wants spacers of the same height; a higher one wants some taken away."""
    assert "add spacers of 0.15 mm" in height_advice(-0.15e-3, UnitSystem.METRIC)
    assert "take 0.15 mm of spacers" in height_advice(0.15e-3, UnitSystem.METRIC)
    assert "nothing to do" in height_advice(sum([0.1e-3] * 3) - 0.3e-3, UnitSystem.METRIC)


def test_clicks_out_open_and_clicks_in_close() -> None:
    """Clicks are counted out from fully closed."""
    assert AdjusterMove("compression", 8, 6, 18).instruction == "2 clicks in (close)"
    assert AdjusterMove("compression", 8, 9, 18).instruction == "1 click out (open)"
    assert AdjusterMove("compression", 8, 8, 18).instruction == "leave it"


def test_imperial_numbers_rest_on_the_exact_inch_and_pound() -> None:
    """25.4 mm to the inch and 4.4482216152605 N to the pound-force (NIST SP 811, appendix B.8; from memory)."""
    assert UnitSystem.IMPERIAL.length_text(25.4e-3) == "1.0000 in"
    assert UnitSystem.IMPERIAL.velocity_text(0.254) == "10"
    assert UnitSystem.IMPERIAL.force(4.4482216152605) == pytest.approx(1, rel=1e-15)


@given(st.floats(-5, 5))
def test_a_percentage_never_shows_a_signed_zero(share: float) -> None:
    """What rounds to zero is zero, without plus or minus."""
    text = percent_text(share)
    assert text == "0 %" if abs(share) < 0.0005 else text[0] in "+\N{MINUS SIGN}"


def test_a_share_of_no_force_is_a_dash() -> None:
    """Where there was no force there is no percentage."""
    assert percent_text(math.nan) == "\N{EN DASH}"


def test_shims_are_named_alike_in_both_systems() -> None:
    """The drawer's label is in mm, so the sheet's is."""
    assert str(ShimKey.of(FEW.shims[0])) == "20x0.20"


def test_each_caution_is_one_sentence() -> None:
    """One full stop, at the end."""
    for caution in CAUTIONS:
        assert caution.sentence.endswith(".")
        assert caution.sentence.count(". ") == 0


def test_gas_is_warned_of_first_when_a_gas_charged_damper_is_opened() -> None:
    """Nothing hurts faster."""
    assert "Gas" in cautions(opened=True, gas_charged=True, reached=True)[0]
    assert not any("Gas" in line for line in cautions(opened=False, gas_charged=True, reached=True))


def test_an_unreached_goal_is_warned_of_before_all_else() -> None:
    """The rider's word comes first."""
    assert cautions(opened=True, gas_charged=True, reached=False)[0].startswith("Not to be built")


@pytest.mark.parametrize("opened", [True, False])
def test_every_sheet_says_that_its_figures_are_a_models_and_the_manual_comes_first(opened: bool) -> None:
    """Whatever the sheet asks for."""
    text = " ".join(cautions(opened=opened, gas_charged=False, reached=True))
    for needed in ("a model's", "throw a rider", "maker's manual", "qualified technician", "slow first ride"):
        assert needed in text


def test_a_travel_below_nothing_has_a_minus_sign_and_nothing_has_none() -> None:
    assert UnitSystem.METRIC.travel_text(-0.0013) == "−1 mm"
    assert UnitSystem.METRIC.travel_text(-0.0003) == "0 mm"
