"""Which path makes the force, drawn: the parts make the whole, and each is told by hatching, letter and words."""

from __future__ import annotations

import re

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from optimiser.files.damper_builder import read_damper
from optimiser.report.plain_shares import LEAST, share_layers, shares_svg
from optimiser.report.strokes import STROKES
from optimiser.report.unit_system import UnitSystem
from tests.helpers.paths import ROOT

SPEEDS = np.geomspace(0.01, 1.0, 6)
BOTH = np.concatenate([-SPEEDS[::-1], SPEEDS])


@pytest.mark.parametrize("name", ["tarn_shock", "yaffle_fork"])
def test_the_parts_of_all_paths_make_the_whole_force(name: str) -> None:
    damper = read_damper(ROOT / "inventory_demo" / "dampers" / f"{name}.toml").damper
    curve = force_curve(damper, velocities=BOTH)
    for stroke in STROKES:
        layers = share_layers(curve, damper.valves, stroke)
        whole = np.sum([layer.shares for layer in layers], axis=0)
        left_out = sum(len(valve.paths) for valve in damper.valves) - len(layers)
        assert np.all(np.abs(whole - 1) <= LEAST * left_out)
        assert len({layer.mark for layer in layers}) == len(layers)


def test_a_stack_that_is_shut_at_a_crawl_leaves_the_force_to_the_bleed_and_takes_it_over() -> None:
    damper = read_damper(ROOT / "inventory_demo" / "dampers" / "yaffle_fork.toml").damper
    layers = {
        one.path: one for one in share_layers(force_curve(damper, velocities=BOTH), damper.valves, "rebound")
    }
    assert layers["rebound stack"].at(0.01) < 0.01
    assert layers["rebound stack"].at(1.0) > 0.7
    assert layers["rebound"].at(0.01) > 0.8 > layers["rebound"].at(1.0)


def test_each_layer_is_told_without_colour_and_without_style() -> None:
    damper = read_damper(ROOT / "inventory_demo" / "dampers" / "tarn_shock.toml").damper
    (inwards, layers), (_, _) = shares_svg(
        force_curve(damper, velocities=BOTH), damper.valves, units=UnitSystem.METRIC, name="s"
    )
    fills = re.findall(r'class="layer" fill="url\(#(s-compression-[0-9]+)\)"', inwards)
    assert len(set(fills)) == len(layers)
    assert "style" not in inwards
    assert "a, compression stack of the main piston: " in inwards
    assert "% at 0.1 m/s" in inwards
