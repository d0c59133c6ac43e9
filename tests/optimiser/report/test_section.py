"""The section drawing is to scale, in order, and every shim keeps its label."""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from damping_model.stack.stack import Stack
from optimiser.report.section import AXIS, heights_above_face, section_svg
from optimiser.report.section_labels import labels_of, spread
from tests.helpers.sheet_samples import FEW, MANY, SAMPLES, SEATING, stack

SVG = "{http://www.w3.org/2000/svg}"


def rectangles(drawn: str, css: str) -> list[dict[str, float]]:
    found = [r for r in ET.fromstring(drawn).iter(f"{SVG}rect") if r.get("class", "").split()[0] == css]  # noqa: S314
    return [{name: float(r.get(name, "nan")) for name in ("x", "y", "width", "height")} for r in found]


def texts(drawn: str) -> list[str]:
    return [t.text or "" for t in ET.fromstring(drawn).iter(f"{SVG}text")]  # noqa: S314


@pytest.mark.parametrize("drawn", [FEW, MANY], ids=["few", "many"])
def test_radii_and_thicknesses_are_each_drawn_to_one_scale(drawn: Stack) -> None:
    """Every rim lies at its radius and every shim has its thickness, to the drawing's tenth of a unit."""
    shims = rectangles(section_svg(drawn, SEATING, title="t"), "shim")
    assert len(shims) == len(drawn.shims)
    radial = (shims[0]["x"] + shims[0]["width"] - AXIS) / (drawn.shims[0].outer_diameter / 2)
    axial = sum(s["height"] for s in shims) / drawn.height
    for box, shim in zip(shims, drawn.shims, strict=True):
        assert box["x"] + box["width"] - AXIS == pytest.approx(radial * shim.outer_diameter / 2, abs=0.15)
        assert box["x"] - AXIS == pytest.approx(radial * shim.inner_diameter / 2, abs=0.15)
        assert box["height"] == pytest.approx(axial * shim.thickness, abs=0.1)


@pytest.mark.parametrize("drawn", [FEW, MANY], ids=["few", "many"])
def test_the_printed_enlargement_is_the_drawings_own(drawn: Stack) -> None:
    """The factor under the drawing is what a ruler finds in it."""
    svg = section_svg(drawn, SEATING, title="t")
    said = float(re.search(r"thicknesses ([\d.]+) times", svg)[1])  # type: ignore[index]
    shims = rectangles(svg, "shim")
    radial = shims[0]["width"] / ((drawn.shims[0].outer_diameter - drawn.shims[0].inner_diameter) / 2)
    axial = sum(s["height"] for s in shims) / drawn.height
    assert said == pytest.approx(axial / radial, abs=0.06)


def test_shims_lie_on_one_another_from_the_piston_upwards() -> None:
    """Each shim's underside is the last one's top, and the first lies on the piston."""
    svg = section_svg(MANY, SEATING, title="t")
    shims = rectangles(svg, "shim")
    assert shims[0]["y"] + shims[0]["height"] == pytest.approx(rectangles(svg, "piston")[0]["y"], abs=0.1)
    for lower, upper in itertools.pairwise(shims):
        assert upper["y"] + upper["height"] == pytest.approx(lower["y"], abs=0.15)


@pytest.mark.parametrize("order", ["ring first", "ring behind"])
def test_a_preload_ring_lies_beside_the_shim_that_centres_it(order: str) -> None:
    """Ring and centring shim share a floor, and the ring adds no height of its own."""
    pair = [(18, 0.3, 16), (16, 0.2)] if order == "ring first" else [(16, 0.2), (18, 0.3, 16)]
    drawn = stack((20, 0.2), *pair, (17, 0.2))  # type: ignore[arg-type]
    floors = heights_above_face(drawn, clamp_radius=SEATING.clamp_radius)
    assert floors == pytest.approx((0, 0.2e-3, 0.2e-3, 0.4e-3))


def test_what_comes_and_what_leaves_is_marked_and_nothing_else() -> None:
    """New shims are inked and named NEW; leaving ones are ghosted and named OUT."""
    svg = section_svg(FEW, SEATING, title="t", put_in={3}, taken_out={5})
    assert svg.count('class="shim new"') == svg.count('class="shim leaving"') == 1
    assert "4:  17x0.20  NEW" in texts(svg)
    assert "6:  11x0.25  OUT" in texts(svg)


@pytest.mark.parametrize("name", SAMPLES)
def test_labels_name_every_shim_once(name: str) -> None:
    """Alike neighbours share a label; none is named twice and none is left out."""
    drawn = SAMPLES[name]().new_stack
    labels = labels_of(drawn.shims, put_in=(), taken_out=(), clamp_radius=SEATING.clamp_radius)
    assert [place for label in labels for place in label.places] == list(range(len(drawn.shims)))


@given(st.lists(st.floats(40, 380), min_size=1, max_size=20))
def test_labels_keep_their_order_and_their_distance(heights: list[float]) -> None:
    """However close the shims lie, no label lies on another or leaves the room there is for it."""
    placed = spread(sorted(heights, reverse=True), pitch=17, lowest=390, highest=30)
    assert all(lower - upper >= 17 - 1e-9 for lower, upper in itertools.pairwise(placed))
    assert placed[0] <= 390 + 1e-9
    assert placed[-1] >= 30 - 1e-9


def test_stacks_shown_side_by_side_share_a_scale() -> None:
    """What looks thicker is thicker."""
    alone = rectangles(section_svg(FEW, SEATING, title="t"), "shim")
    beside = rectangles(section_svg(FEW, SEATING, title="t", beside=(MANY,)), "shim")
    other = rectangles(section_svg(MANY, SEATING, title="t", beside=(FEW,)), "shim")
    assert alone[0]["height"] != beside[0]["height"]
    assert beside[0]["height"] / 0.20 == pytest.approx(other[0]["height"] / 0.15, rel=0.02)
