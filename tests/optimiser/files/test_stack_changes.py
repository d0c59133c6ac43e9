"""A change of a stack is read as it is said, or as a plan lists it; a place that is open is asked for."""

from __future__ import annotations

import random

import pytest

from optimiser.files.stack_changes import changed_stack, says_changes
from optimiser.files.stack_text import shims_from_text
from optimiser.model.edits import changes_between, stack_of
from optimiser.report.candidates import steps_text
from tests.helpers.counts import tries

STACK = "6 of 20x0.10, 12x0.05, 4 of 19x0.10, 2 of 17x0.10, 15x0.15, 12x0.15, 10x0.20, 9x0.30"
OLD = shims_from_text(STACK, hole_mm=8)


@pytest.mark.parametrize(
    ("said", "comes_to"),
    [
        ("out 20x0.10", STACK.replace("6 of", "5 of")),
        ("take out 2 of 20x.1", STACK.replace("6 of", "4 of")),
        ("20x0,10 out, in 18x0,15", STACK.replace("6 of", "5 of").replace("2 of 17", "18x0.15, 2 of 17")),
        ("in 19x0.15", STACK.replace("2 of 17", "19x0.15, 2 of 17")),
        ("in 20x0.10 and out 15x0.15", STACK.replace("6 of", "7 of").replace("15x0.15, ", "")),
        ("15x0.15 to 15x0.20", STACK.replace("15x0.15", "15x0.20")),
        ("17x0.10 to 17.5x0.10", STACK.replace("2 of 17", "17.5x0.10, 17")),
        ("out 12x0.05 (7th)", STACK.replace("12x0.05, ", "")),
        ("in 19x0.15 (8th)", STACK.replace("4 of 19", "19x0.15, 4 of 19")),
        (
            "move 12x0.05 (7th to 9th)",
            STACK.replace("12x0.05, 4 of 19x0.10", "2 of 19x0.10, 12x0.05, 2 of 19x0.10"),
        ),
    ],
)
def test_a_change_comes_to_the_stack_that_is_meant(said: str, comes_to: str) -> None:
    assert says_changes(said)
    assert changed_stack(said, OLD, hole_mm=8) == shims_from_text(comes_to, hole_mm=8)


@pytest.mark.parametrize(
    "text", [STACK, "20x0.10", "- 20x0.10\n- 18x0.10", "0.787 in x 0.004 in", "20x0.10, out 18x0.10", ""]
)
def test_a_whole_stack_is_no_change(text: str) -> None:
    assert not says_changes(text)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("out 18x0.10", "a shim of the stack, got 18x0.10, which does not lie in it"),
        ("out 7 of 20x0.10", "at most 6 to take out, got 7"),
        ("out 20x0.10 (7th)", "20x0.10 at place 7 of the old stack, got another shim"),
        ("in 12x0.10", "a place, since shims like it lie in place 7 and place 15; write 'in 12x0.10 (8th)'"),
        ("in 21x0.10", "a place in the new stack, got none; write 'in 21x0.10 (7th)'"),
        ("in 20x0.10 (40th)", "a place from 1 to 18 in the new stack, got 40"),
        ("out 20x10", "a thickness from 0.03 to 1 mm, got 10"),
    ],
)
def test_what_is_open_or_not_there_is_refused_with_how_to_say_it(said: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as refusal:
        changed_stack(said, OLD, hole_mm=8)
    assert words in str(refusal.value)


def test_changes_as_a_plan_lists_them_come_to_its_stack() -> None:
    chance = random.Random(20)
    kinds = sorted(set(OLD))
    for _ in range(tries(quick=60, thorough=2000)):
        new = list(OLD)
        for _ in range(chance.randint(1, 3)):
            if chance.random() < 0.6:
                new.pop(chance.randrange(len(new)))
            if chance.random() < 0.6:
                new.insert(chance.randint(0, len(new)), chance.choice(kinds))
        changes = changes_between(stack_of(OLD), stack_of(new))
        if changes:
            said = steps_text(changes, hole=8000)
            assert changed_stack(said, OLD, hole_mm=8) == tuple(new), said
