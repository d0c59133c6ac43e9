"""Plain drawings of curves: true to their figures, without style inside, told apart without colour, and in words."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from optimiser.model.goal import Role
from optimiser.report.plain_axes import (
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    PlainAxes,
    PlotBand,
    force_ticks,
    round_step,
)
from optimiser.report.plain_changes import changes_svg
from optimiser.report.plain_curves import curves_svg
from optimiser.report.sheet import CurveLine
from optimiser.report.unit_system import UnitSystem

SPEEDS = tuple(np.concatenate([-np.geomspace(0.01, 2, 20)[::-1], np.geomspace(0.01, 2, 20)]).tolist())
STEADY = CurveLine("as it is", SPEEDS, tuple(1000 * abs(one) for one in SPEEDS), promised_to=1.5)
STIFFER = CurveLine("<b>stiffer</b>", SPEEDS, tuple(1100 * abs(one) for one in SPEEDS))
BAND = PlotBand(
    mark="A", name="support", role=Role.TARGET, stroke="compression", speeds=(0.1, 0.2), least=(105.0, 210.0),
    most=(115.0, 230.0),
)  # fmt: skip


def test_the_axes_keep_order_and_end_at_the_edges_of_the_drawing() -> None:
    axes = PlainAxes(2.0, 0.0, 500.0, spread=True)
    assert float(axes.x(0.0)) == LEFT
    assert float(axes.x(2.0)) == WIDTH - RIGHT
    assert float(axes.y(500.0)) == pytest.approx(TOP)
    forces = np.linspace(0, 500, 50)
    assert (np.diff(axes.y(forces)) < 0).all(), "more force stands higher"
    assert (np.diff(axes.x(np.linspace(0, 2, 50))) > 0).all()
    plain = PlainAxes(2.0, -10.0, 10.0, spread=False)
    assert float(plain.y(0.0)) == pytest.approx((float(plain.y(10.0)) + float(plain.y(-10.0))) / 2)


def test_a_line_stands_where_its_force_is() -> None:
    drawn = curves_svg([STEADY], [], units=UnitSystem.METRIC, name="one")[0]
    path = re.search(r'class="line pen1" d="M([\d.]+) ([\d.]+)', drawn)
    assert path is not None
    axes = PlainAxes(2.0, 0.0, 2000 * 1.06, spread=True)
    assert float(path[1]) == pytest.approx(float(axes.x(0.01)), abs=0.06)
    assert float(path[2]) == pytest.approx(float(axes.y(10.0)), abs=0.06)


@pytest.mark.parametrize("highest", [0.5, 7.0, 130.0, 2711.0, 48_000.0])
def test_figures_of_the_force_axis_have_room(highest: float) -> None:
    shares = np.sqrt(np.array(force_ticks(highest)) / highest)
    assert len(shares) >= 3
    assert (np.diff(shares) >= 0.11).all()
    assert shares[-1] <= 1


@pytest.mark.parametrize(("least", "step"), [(0.9, 1.0), (1.1, 2.0), (2.3, 5.0), (6.0, 10.0), (0.03, 0.05)])
def test_steps_are_round(least: float, step: float) -> None:
    assert round_step(least) == pytest.approx(step)


def test_a_change_of_a_tenth_is_drawn_as_ten_percent_everywhere() -> None:
    compression, rebound = changes_svg([STEADY, STIFFER], [BAND], units=UnitSystem.METRIC, name="two")
    for drawn in (compression, rebound):
        line = re.search(r'line pen2" d="([^"]+)', drawn)
        assert line is not None
        heights = set(re.findall(r"[ML][\d.]+ ([\d.]+)", line[1]))
        assert len(heights) == 1
        assert "+10.0 % at 0.5 m/s" in drawn
    allowed = re.search(r'class="allowed target"[^>]+points="([^"]+)"', compression)
    assert allowed is not None
    limits = {corner.partition(",")[2] for corner in allowed[1].split()}
    assert len(limits) == 2, "the band's limits are five and fifteen percent at each velocity"


def test_a_stroke_in_which_nothing_changes_is_left_out() -> None:
    half = replace(
        STEADY, forces=tuple(f * (1.1 if v > 0 else 1.0) for v, f in zip(SPEEDS, STEADY.forces, strict=True))
    )
    assert len(changes_svg([STEADY, half], [], units=UnitSystem.METRIC, name="half")) == 1


def test_drawings_carry_no_style_escape_names_tell_all_in_words_and_need_no_colour() -> None:
    for drawn in curves_svg(
        [STEADY, STIFFER], [BAND], units=UnitSystem.METRIC, name="both", measured=[STEADY]
    ):
        assert " style=" not in drawn
        assert "<style" not in drawn
        assert "<b>" not in drawn
        assert 'role="img"' in drawn
        said = re.search(r'aria-label="([^"]+)"', drawn)
        assert said is not None
        assert "line 0, as it is: 100 N at 0.1 m/s" in said[1]
        assert {">0</text>", ">1</text>"} <= set(re.findall(r">\d</text>", drawn)), (
            "lines carry their numbers"
        )
        assert 'class="measured"' in drawn
    compression = curves_svg([STEADY], [BAND], units=UnitSystem.METRIC, name="band")[0]
    assert "url(#band-compression-target)" in compression, "a target is hatched"
    assert "beyond" in compression, "and what is not promised is another line"
    assert f'viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}"' in compression
