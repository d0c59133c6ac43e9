"""A fit beside its damper's file: what a plan uses of it, and when it is stale."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.stack.steel import SpringSteel
from optimiser.dyno.run import DynoRun
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_damper, read_known_damper, read_typed_damper
from optimiser.files.fit_file import place_beside, read_fit, write_fit
from optimiser.files.job_reader import read_job
from optimiser.fit.fit import Fit
from optimiser.fit.fit_runs import fit_runs
from optimiser.jobs.noticed import noticed_in
from optimiser.unknowns.unknown import Owner
from tests.helpers.dyno_twins import table_text
from tests.helpers.fit_twins import hidden, session
from tests.helpers.paths import DEMO

NAME = "dunnock_shock.toml"


@cache
def made() -> tuple[Fit, tuple[DynoRun, ...]]:
    described = read_typed_damper(DEMO / "dampers" / NAME)
    runs = session(hidden(described, 1), seed=1)
    return fit_runs(described, runs), runs


@pytest.fixture
def damper(tmp_path: Path) -> Path:
    """A damper's file with a fit and its runs beside it."""
    path = tmp_path / "dampers" / NAME
    path.parent.mkdir()
    shutil.copy(DEMO / "dampers" / NAME, path)
    fit, runs = made()
    table = tmp_path / "runs.csv"
    table.write_text(table_text(runs[0]))
    write_fit(path, fit, runs={table: 1}, day="2026-03-31", against="")
    return path


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))


def test_a_plan_s_damper_gives_the_forces_of_the_fit(damper: Path) -> None:
    fit, _ = made()
    stretch = fit.sample.stretches[0]
    curve = force_curve(
        read_damper(damper).damper,
        velocities=stretch.velocities,
        temperature=stretch.run.temperature,
        clicks=stretch.run.clicks,
    )
    expected = np.exp(fit.plan_logarithms[: stretch.velocities.size])
    assert np.abs(curve.damping_force) == pytest.approx(expected, rel=2e-3)
    typed = force_curve(read_typed_damper(damper).damper, velocities=stretch.velocities)
    assert np.abs(typed.damping_force / curve.damping_force - 1).max() > 0.02


def test_the_damper_s_own_file_never_changes(damper: Path) -> None:
    assert damper.read_bytes() == (DEMO / "dampers" / NAME).read_bytes()


def test_what_is_known_is_about_the_plan_s_damper(damper: Path) -> None:
    fit, _ = made()
    known = read_known_damper(damper).knowledge
    assert known is not None
    shims = np.array([unknown.owner is Owner.SHIMS_INSIDE for unknown in known.unknowns])
    assert known.mean == pytest.approx(fit.knowledge.mean - np.where(shims, 0.0, fit.for_plans), abs=1e-8)
    assert known.covariance == pytest.approx(fit.knowledge.covariance, abs=1e-8)


def test_shims_keep_their_names_and_count_as_thick_as_the_runs_told(damper: Path) -> None:
    fit, _ = made()
    found, typed = read_damper(damper), read_typed_damper(damper)
    assert [one.stack for one in found.stacks] == [one.stack for one in typed.stacks]
    [thickness] = [one for one in fit.estimates if one.unknown.figure == "150"]
    real = 150e-6 + thickness.unknown.uncertainty * float(fit.for_plans[fit.estimates.index(thickness)])
    assert abs(real - 150e-6) > 0.1e-6
    for path in found.damper.stacks:
        assert dict(path.real_thicknesses)[150 * 1e-6] == pytest.approx(real)
        [plates] = {path.packed(path.stack, steel=SpringSteel()).packs[0]}
        count = sum(shim == path.stack.shims[0] for shim in path.stack.shims)
        assert plates.height == pytest.approx(count * real)


def test_of_thicknesses_of_which_shims_came_since_nothing_is_known_and_the_rest_is_kept(damper: Path) -> None:
    before = read_known_damper(damper).knowledge
    assert before is not None
    edit(damper, '"5 of 18x0.15"', '"6 of 18x0.15"')
    found = read_known_damper(damper)
    assert found.knowledge is not None
    for place, unknown in enumerate(found.knowledge.unknowns):
        if (unknown.owner, unknown.figure) == (Owner.SHIMS_INSIDE, "150"):
            assert found.knowledge.mean[place] == 0
            assert found.knowledge.deviations[place] == 1
        else:
            assert found.knowledge.mean[place] == before.mean[place]
            assert found.knowledge.deviations[place] == pytest.approx(before.deviations[place])
    assert all(150e-6 not in dict(path.real_thicknesses) for path in found.description.damper.stacks)


def test_shims_that_stay_or_move_to_the_other_stack_are_the_same_steel(damper: Path) -> None:
    before = read_known_damper(damper)
    edit(damper, '"5 of 18x0.15"', '"3 of 18x0.15"')
    after = read_known_damper(damper)
    assert before.knowledge is not None
    assert after.knowledge is not None
    assert after.knowledge.mean == pytest.approx(before.knowledge.mean)
    assert after.knowledge.covariance == pytest.approx(before.knowledge.covariance)
    told = {path.real_thicknesses for path in before.description.damper.stacks}
    assert {path.real_thicknesses for path in after.description.damper.stacks} == told


def test_a_fit_of_an_earlier_version_knows_of_its_shims_while_the_same_stacks_are_in(damper: Path) -> None:
    place = place_beside(damper)
    text = place.read_text()
    place.write_text(text[: text.index("[[stack]]")])
    assert any(path.real_thicknesses for path in read_damper(damper).damper.stacks)
    edit(damper, '"5 of 18x0.15"', '"3 of 18x0.15"')
    found = read_known_damper(damper)
    assert found.knowledge is not None
    assert not any(path.real_thicknesses for path in found.description.damper.stacks)


def test_with_other_figures_in_the_file_the_fit_is_stale_and_said_to_be(damper: Path) -> None:
    text = damper.read_text()
    line = next(line for line in text.splitlines() if line.startswith("friction_n"))
    edit(damper, line, "friction_n = 31.0")
    found = read_known_damper(damper)
    assert found.knowledge is None
    assert found.description.fitted is not None
    assert found.description.fitted.stale == f"figures of {NAME} have changed since"
    assert found.description.damper == read_typed_damper(damper).damper


def test_clicks_and_shims_do_not_make_it_stale(damper: Path) -> None:
    line = next(line for line in damper.read_text().splitlines() if line.startswith("clicks_out"))
    edit(damper, line, "clicks_out = 3")
    fitted = read_damper(damper).fitted
    assert fitted is not None
    assert not fitted.stale


def test_a_file_of_runs_that_changed_is_named(damper: Path) -> None:
    runs = damper.parent.parent / "runs.csv"
    runs.write_text(runs.read_text() + "1.2, 900\n")
    fitted = read_damper(damper).fitted
    assert fitted is not None
    assert fitted.runs_changed == ("../runs.csv",)
    runs.unlink()  # runs need not be kept with the shop
    gone = read_damper(damper).fitted
    assert gone is not None
    assert gone.runs_changed == ()


def test_a_job_says_that_its_damper_is_fitted_and_how_to_take_it_back(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(DEMO, shop)
    path = shop / "dampers" / "dunnock_shock.toml"
    fit, runs = made()
    table = tmp_path / "runs.csv"
    table.write_text(table_text(runs[0]))
    write_fit(path, fit, runs={table: 1}, day="2026-03-31", against="")
    job = next(
        place for place in sorted((shop / "jobs").glob("*.toml")) if "dunnock_shock.toml" in place.read_text()
    )
    read = read_job(job)
    assert read.knowledge is not None
    [said] = [one for one in noticed_in(read) if one.what == "fitted figures"]
    assert "from 1 run of 2026-03-31" in said.got
    assert "--forget" in said.do_this
    assert not said.stops


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('format = "shimwright fit 1"', 'format = "shimwright fit 9"', "format"),
        ("covariance = [[", "covariance = [[1.0, ", "expected 1, 2"),
        ("draw = ", "draw = 400 #", "draw"),
        ("\nof = ", '\nof = "saddle" #', "of"),
        ('"4 of 20x0.15"', '"4 of wood"', "stack"),
    ],
)
def test_a_fit_that_somebody_broke_is_refused_with_the_place(
    damper: Path, old: str, new: str, said: str
) -> None:
    place = place_beside(damper)
    edit(place, old, new)
    with pytest.raises(InputError, match=said) as raised:
        read_damper(damper)
    assert str(place) in str(raised.value)


def test_a_covariance_that_is_none_is_refused_with_its_file(damper: Path) -> None:
    place = place_beside(damper)
    text = place.read_text()
    first = text.index("covariance = [[") + len("covariance = [[")
    place.write_text(text[:first] + "-5.0" + text[text.index("]", first) :])
    with pytest.raises(InputError, match="Make the fit again") as raised:
        read_damper(damper)
    assert str(place) in str(raised.value)


def test_it_reads_back_as_it_was_written(damper: Path) -> None:
    fit, _ = made()
    file = read_fit(place_beside(damper))
    assert [figure.draw for figure in file.figure] == pytest.approx([one.draw for one in fit.estimates])
    assert [figure.label for figure in file.figure] == [one.label.value for one in fit.estimates]
    assert file.run_file[0].file == "../runs.csv"
