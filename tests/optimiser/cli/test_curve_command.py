"""``shimwright curve``: loops by friction, and points that a dyno measured."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper
from tests.helpers.dyno_twins import table_run, table_text
from tests.helpers.paths import DEMO


@pytest.fixture
def damper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Work in a folder with one damper and a run of it."""
    shutil.copy(DEMO / "dampers" / "dunnock_shock.toml", tmp_path / "dunnock.toml")
    monkeypatch.chdir(tmp_path)
    run = table_run(read_damper(Path("dunnock.toml")).damper)
    Path("run.csv").write_text(table_text(run))
    return "dunnock.toml"


def run(*words: str) -> str:
    result = CliRunner().invoke(cli, ("curve", *words), catch_exceptions=False, standalone_mode=False)
    assert not result.return_value, result.output
    return result.output


def test_with_friction_every_curve_is_a_loop_and_the_load_of_an_interface_is_told(damper: str) -> None:
    said = run(damper, "--friction", "0.1")
    assert "stacks opening" in said
    assert "stacks closing" in said
    assert "adds 0." in said
    opening, closing = json.loads(run(damper, "--friction", "0.1", "--json"))["curves"]
    more, less = (np.abs(one["damping_force_n"]) for one in (opening, closing))
    assert (more >= less).all()
    assert (more > less * 1.01).any()


def test_the_warmth_that_the_forces_hold_for_is_named_once(damper: str) -> None:
    assert "all forces at 40 °C." in run(damper)
    assert "all forces at 104 °F." in run(damper, "--units", "imperial")
    assert "all forces" not in run(damper, "--celsius", "20,60")  # each curve is named by its own


def test_what_a_dyno_measured_is_marked_on_the_curve_and_in_the_picture(damper: str) -> None:
    said = run(damper, "--runs", "run.csv")
    assert "O  measured" in said
    assert "measured" in Path("dunnock_curve.svg").read_text()
    (found,) = json.loads(run(damper, "--runs", "run.csv", "--json"))["measured"]
    assert len(found["velocities_m_s"]) == len(found["damping_force_n"]) > 8


def test_a_dyno_sees_no_single_valve(damper: str) -> None:
    with pytest.raises(InputError, match="a dyno sees no single valve"):
        run(damper, "--runs", "run.csv", "--shares")
