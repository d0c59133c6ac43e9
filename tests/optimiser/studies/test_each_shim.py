"""What each shim does: the same as the stack without it, or with one more, and a reason where that cannot be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.files.stack_changes import changed_stack
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.objection import Objection
from optimiser.model.rules import Mounting
from optimiser.model.stock import ShimKey
from optimiser.report.each_shim_text import (
    MORE,
    OUT,
    drawn_span,
    each_shim_drawing,
    each_shim_table,
    said_of,
)
from optimiser.studies.each_shim import NO_ANSWER, each_shim

MOUNTING = Mounting(
    hole_diameter=8e-3,
    port_outer_radius=8e-3,
    seat_radius=8.5e-3,
    bore_radius=12e-3,
    clamp_diameter=10e-3,
    most_height=3e-3,
)
GOAL = Goal((Window("low", Role.SHOWN, (0.1, 0.2), *[(100.0, 200.0)] * 4),), 0.0, 1.0)
HOLE = round(1e6 * MOUNTING.hole_diameter)
SIZES = [(20, 0.10), (20, 0.10), (12, 0.05), (18, 0.15), (14, 0.20), (10, 0.30)]
STACK = stack_of([ShimKey(1000 * outer, round(1000 * thick), HOLE) for outer, thick in SIZES])


def stiffness(stack: Stack) -> NDArray[np.float64]:
    """A toy: force grows with the cube of every thickness, and a crossover takes most of it away."""
    keys = keys_of(stack)
    crossed = any(key.thickness == 50 for key in keys)
    whole = sum(key.thickness**3 for key in keys) / sum(key.thickness**3 for key in keys_of(STACK))
    return np.array([100.0, 200.0]) * whole * (1.0 if crossed else 3.0)


def test_every_shim_is_tried_once_in_the_order_of_the_stack() -> None:
    tried = each_shim(STACK, mounting=MOUNTING, goal=GOAL, forces=stiffness)
    assert [one.places for one in tried] == [(0, 1), (2,), (3,), (4,), (5,)]
    keys = keys_of(STACK)
    for one in tried:
        said = f"out {one.key} ({one.places[-1] + 1}th)"
        assert keys_of(one.out.stack) == changed_stack(said, keys, hole_mm=HOLE / 1000)
        assert len(one.one_more.stack.shims) == len(keys) + 1
        if one.out.bands:
            assert one.out.forces == tuple(stiffness(one.out.stack))
            assert one.out.bands[0].mean == pytest.approx(one.out.forces[0] / 100 - 1)


def test_what_cannot_be_built_has_a_reason_and_no_figures() -> None:
    tried = each_shim(STACK, mounting=MOUNTING, goal=GOAL, forces=stiffness)
    clamp = tried[-1].out
    assert clamp.bands == ()
    assert "clamp shim" in clamp.why_not[0]
    alone = each_shim(stack_of(keys_of(STACK)[:1]), mounting=MOUNTING, goal=GOAL, forces=stiffness)
    assert alone[0].out.why_not == ("No shim would be left.",)


def test_what_speaks_against_a_stack_is_asked_of_those_that_can_be_built_alone() -> None:
    asked: list[Stack] = []

    def against(stack: Stack) -> Objection:
        asked.append(stack)
        return Objection.OVERSTRESSED

    tried = each_shim(STACK, mounting=MOUNTING, goal=GOAL, forces=stiffness, against=against)
    both = [half for one in tried for half in (one.out, one.one_more)]
    assert asked == [half.stack for half in both if not half.why_not]
    assert said_of(tried[0].out) == ("A shim would be overstressed.",)
    assert said_of(tried[-1].out) == tried[-1].out.why_not


def test_a_stack_that_the_model_has_no_answer_for_says_so() -> None:
    tried = each_shim(STACK, mounting=MOUNTING, goal=GOAL, forces=lambda _: np.array([np.nan, 1.0]))
    assert tried[0].out.why_not == (NO_ANSWER,)


def test_the_drawing_keeps_the_order_and_names_what_lies_beyond_its_axis() -> None:
    tried = each_shim(STACK, mounting=MOUNTING, goal=GOAL, forces=stiffness)
    lines = each_shim_drawing(tried, GOAL, hole=HOLE).splitlines()
    assert [line.strip().split("  ")[0] for line in lines[2:7]] == [
        "2 of 20x0.10", "12x0.05", "18x0.15", "14x0.20", "10x0.30"
    ]  # fmt: skip
    crossover = tried[1].out.bands[0].mean
    assert crossover > drawn_span(tried, 0)
    assert lines[3].endswith(f"{OUT} +{100 * crossover:.1f} % >")
    assert OUT in lines[4]
    assert MORE in lines[4]
    assert each_shim_table(tried, GOAL, hole=HOLE, stock=None).row_count == 10


def test_a_mounting_is_what_the_rules_are_held_against() -> None:
    low = replace(MOUNTING, most_height=0.95e-3)
    tried = each_shim(STACK, mounting=low, goal=GOAL, forces=stiffness)
    assert all("room for" in one.one_more.why_not[0] for one in tried[-1:])
