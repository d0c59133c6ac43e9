"""What a dyno measured, marked on every curve: the right points, in the right panel, under a name."""

from dataclasses import replace

import numpy as np
import pytest

from optimiser.dyno.run import Branch
from optimiser.files.damper_builder import read_damper
from optimiser.report.curves import force_svg
from optimiser.report.measured_points import measured_points
from optimiser.report.terminal import force_text
from optimiser.report.unit_system import UnitSystem
from tests.helpers.dyno_twins import Setting, Traits, table_run
from tests.helpers.paths import DEMO
from tests.helpers.sheet_samples import lines

DAMPER = read_damper(DEMO / "dampers" / "dunnock_shock.toml").damper
NAME = DAMPER.clickers[0].name
STILL = Traits(cycle_noise=0.0)
HERE = table_run(DAMPER, traits=STILL, setting=Setting(clicks={NAME: 2}))
THERE = table_run(DAMPER, traits=STILL, setting=Setting(clicks={NAME: 4}))


def test_points_are_the_damping_force_against_the_motion_with_gas_and_friction_taken_off() -> None:
    (points,) = measured_points([HERE])
    assert points.name == f"measured, {NAME} 2 out"
    assert HERE.gas_force is not None
    assert HERE.friction_force is not None
    for velocity, force in zip(points.velocities, points.forces, strict=True):
        (own,) = (one for one in HERE.peaks if one.velocity == velocity)
        assert force == pytest.approx(own.sign * (own.force - HERE.gas_force) - HERE.friction_force)
    assert min(points.forces) > 0


def test_runs_of_one_setting_share_a_mark_and_others_have_their_own() -> None:
    points = measured_points([HERE, THERE, HERE])
    assert [len(one.velocities) for one in points] == [2 * len(HERE.peaks), len(THERE.peaks)]
    (here,) = measured_points([HERE, THERE], clicks={NAME: 2})
    assert here.name == f"measured, {NAME} 2 out"


def test_points_off_the_peak_and_beyond_the_drawing_are_left_out() -> None:
    off = replace(HERE, points=tuple(replace(point, branch=Branch.SPEEDING_UP) for point in HERE.points))
    assert measured_points([off]) == []
    (slow,) = measured_points([HERE], fastest=0.3)
    assert np.abs(slow.velocities).max() <= 0.3


def test_pictures_and_terminal_name_what_was_measured_and_mark_it() -> None:
    (points,) = measured_points([HERE])
    plain, marked = (
        force_svg(lines(), units=UnitSystem.METRIC, measured=measured) for measured in ([], [points])
    )
    assert "measured" in marked
    assert "measured" not in plain
    text = force_text(lines(), units=UnitSystem.METRIC, width=80, colour=False, measured=[points])
    assert f"O  measured, {NAME} 2 out" in text
    assert sum(line.count("O") for line in text.splitlines() if "│" in line) >= len(points.velocities) // 2


def test_a_point_above_every_line_still_lies_in_the_panel() -> None:
    (points,) = measured_points([HERE])
    high = replace(points, forces=tuple(10 * force + 5000 for force in points.forces))
    text = force_text(lines(), units=UnitSystem.METRIC, width=80, colour=False, measured=[high])
    assert sum(line.count("O") for line in text.splitlines() if "│" in line) >= 2
