"""A lifted stack drawn: more speed lifts it further, and its words say what the drawing shows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from damping_model.units import MILLIMETRE
from optimiser.actions.lift_at_speed import lift_at_speed
from optimiser.files.damper_builder import read_damper
from optimiser.report.lifted_shape import lifted_shape_svg
from optimiser.report.unit_system import UnitSystem
from tests.helpers.paths import ROOT

DAMPER: Path = ROOT / "inventory_demo" / "dampers" / "tarn_shock.toml"


def test_more_speed_puts_more_pressure_on_a_stack_and_lifts_it_further() -> None:
    damper = read_damper(DAMPER).damper
    found = [lift_at_speed(damper, "compression stack", speed=speed) for speed in (0.2, 0.6, 1.5)]
    pressures = [float(one.curve.pressures[-1]) for one in found if one is not None]
    lifts = [float(one.curve.seat_lift[-1]) for one in found if one is not None]
    assert pressures == sorted(pressures)
    assert len(lifts) == 3
    assert lifts == sorted(lifts)


def test_each_stack_is_lifted_in_the_stroke_whose_oil_lifts_it() -> None:
    damper = read_damper(DAMPER).damper
    for name in ("compression stack", "rebound stack"):
        lifted = lift_at_speed(damper, name, speed=1.0)
        assert lifted is not None
        assert lifted.path.name == name
        assert float(lifted.curve.seat_lift[-1]) > 0.01 * MILLIMETRE


def test_the_words_of_the_drawing_name_each_pack_and_its_stress() -> None:
    lifted = lift_at_speed(read_damper(DAMPER).damper, "compression stack", speed=1.0)
    assert lifted is not None
    drawn = lifted_shape_svg(lifted, speed=1.0, units=UnitSystem.METRIC, name="one")
    said = re.search(r'aria-label="([^"]+)"', drawn)
    assert said is not None
    worst = max(one.von_mises for one in lifted.stresses) / lifted.steel.fatigue_limit
    assert f"{100 * worst:.0f} % of the limit" in said[1]
    assert f"{float(lifted.curve.seat_lift[-1]) / MILLIMETRE:.2f} mm lift at the seat" in said[1]
    bending = [pack for place, pack in enumerate(lifted.packed.packs) if lifted.shape(place)[0].size]
    assert drawn.count('class="pack"') == len(bending)
    assert " style=" not in drawn


@pytest.mark.parametrize("share", [0.5, 0.8, 1.0])
def test_a_pack_is_hatched_the_closer_the_nearer_it_comes_to_the_limit(share: float) -> None:
    lifted = lift_at_speed(read_damper(DAMPER).damper, "rebound stack", speed=2.0)
    assert lifted is not None
    drawn = lifted_shape_svg(lifted, speed=2.0, units=UnitSystem.METRIC, name="two")
    over = sum(
        max(one.von_mises for one in lifted.stresses if lifted.packed.places[one.shim - 1] == place)
        / lifted.steel.fatigue_limit
        >= share
        for place in range(len(lifted.packed.packs))
        if lifted.shape(place)[0].size
    )
    level = {0.5: 1, 0.8: 2, 1.0: 3}[share]
    hatched = sum(drawn.count(f'fill="url(#two-{one})"') for one in range(level, 4))
    assert hatched == over
