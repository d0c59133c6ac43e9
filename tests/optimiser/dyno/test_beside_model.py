"""A slip of unit or stroke shows beside the damper's own file."""

from __future__ import annotations

from dataclasses import replace

import pytest

from damping_model.units import POUND_FORCE
from optimiser.dyno.beside_model import beside_model, slips
from optimiser.dyno.run import DynoRun
from optimiser.files.damper_builder import read_damper
from tests.helpers.dyno_twins import Traits, table_run
from tests.helpers.paths import ROOT

NAMES = ("tarn_shock", "dunnock_shock", "yaffle_fork", "morwen_shock", "osier_shock")


def said(run: DynoRun, name: str) -> list[str]:
    damper = read_damper(ROOT / "inventory_demo" / "dampers" / f"{name}.toml").damper
    return list(slips(beside_model(damper, run)))


@pytest.fixture(params=NAMES)
def measured(request: pytest.FixtureRequest) -> tuple[DynoRun, str]:
    name = str(request.param)
    damper = read_damper(ROOT / "inventory_demo" / "dampers" / f"{name}.toml").damper
    return table_run(damper, traits=Traits(run_noise=0.01), seed=5), name


def test_a_run_of_the_damper_itself_shows_no_slip(measured: tuple[DynoRun, str]) -> None:
    assert said(*measured) == []


def test_forces_in_another_unit_are_named_by_their_ratio(measured: tuple[DynoRun, str]) -> None:
    run, name = measured
    for factor in (POUND_FORCE, 1 / POUND_FORCE, 9.80665):
        wrong = replace(
            run,
            points=tuple(replace(point, force=factor * point.force) for point in run.points),
            gas=None,
            friction=None,
        )
        assert any("the units of force and velocity" in words for words in said(wrong, name))


def test_swapped_strokes_are_told_by_the_gas_and_by_their_difference(measured: tuple[DynoRun, str]) -> None:
    run, name = measured
    wrong = replace(
        run,
        points=tuple(replace(one, velocity=-one.velocity, force=-one.force) for one in reversed(run.points)),
    )
    assert any("With compression and rebound swapped" in words for words in said(wrong, name))
