"""A damper fitted to its runs, as a tuner types it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from optimiser.documents.fit import FitDocument
from optimiser.files.damper_builder import read_typed_damper
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only
from tests.helpers.dyno_twins import table_text
from tests.helpers.fit_twins import hidden, session

DAMPER = "dampers/dunnock_shock.toml"


@pytest.fixture
def runs(shop: Path) -> str:
    """A session of a twin of the shop's fork shock, as its dyno wrote it."""
    described = read_typed_damper(shop / DAMPER)
    (shop / "dyno").mkdir(exist_ok=True)
    twin = hidden(described, 1)
    texts = [table_text(run) for run in session(twin, seed=1, settings=({}, {"rebound": 2}))]
    (shop / "dyno" / "twin.csv").write_text("\n".join(texts))
    return "dyno/twin.csv"


def test_a_fit_is_printed_kept_told_and_taken_back(shop: Path, typed: Typed, runs: str) -> None:
    before = (shop / DAMPER).read_bytes()
    seen = typed("fit", DAMPER, runs, "--write", "--svg", "fit.svg")
    assert seen.code == 0, seen.err
    for words in (
        "points of 2 runs",
        "The fit holds",
        "How far the computed force is off",
        "Figures, by how much they differ",
        "Not told by these runs: swept area",
        "Kept: dampers/dunnock_shock.fit.toml",
    ):
        assert words in " ".join(seen.out.split()), words
    assert (shop / DAMPER).read_bytes() == before
    assert ET.parse(shop / "fit.svg").getroot().tag.endswith("svg")  # noqa: S314 (our own picture)
    told = typed("curve", DAMPER)
    assert "from 2 runs" in " ".join(told.err.split())
    assert typed("fit", DAMPER, "--forget").code == 0
    assert not (shop / "dampers" / "dunnock_shock.fit.toml").exists()
    assert "There is no fit" in typed("fit", DAMPER, "--forget").out
    assert "from 2 runs" not in " ".join(typed("curve", DAMPER).err.split())


@thorough_only("fits once more; a quick run fits for people")
def test_for_programs_every_figure_has_its_label_and_interval(shop: Path, typed: Typed, runs: str) -> None:
    seen = typed("fit", DAMPER, runs, "--json")
    found = FitDocument.model_validate_json(seen.out)
    assert (found.runs, found.holds, found.written) == (2, True, None)
    assert {one.label for one in found.figures} >= {"identified", "flat"}
    assert all(one.least_deviations <= one.deviations <= one.most_deviations for one in found.figures)
    assert all(abs(one.fitted_n / one.measured_n - 1) < 0.1 for one in found.points_fitted)
    assert not (shop / "dampers" / "dunnock_shock.fit.toml").exists()


def test_without_runs_and_with_runs_to_forget_the_way_out_is_said(typed: Typed, shop: Path) -> None:
    seen = typed("fit", DAMPER)
    assert seen.code == 2
    assert "got no runs" in seen.err
    seen = typed("fit", DAMPER, "dyno/x.csv", "--forget")
    assert seen.code == 2
    assert "expected it alone" in seen.err
    assert "no_such" in typed("fit", "dampers/no_such.toml", "--forget").err


@thorough_only("fits twice more")
def test_a_fit_that_does_not_hold_is_only_kept_even_so(shop: Path, typed: Typed, runs: str) -> None:
    # the second run was made at other clicks than its file says
    text = (shop / runs).read_text()
    (shop / runs).write_text(text.replace("clicks rebound: 2", "clicks rebound: 8"))
    place = shop / "dampers" / "dunnock_shock.fit.toml"
    seen = typed("fit", DAMPER, runs, "--write")
    assert seen.code == 3
    assert "Not kept, since it does not hold" in " ".join(seen.out.split())
    assert not place.exists()
    assert typed("fit", DAMPER, runs, "--write", "--even-so").code == 3
    assert "does not hold" in place.read_text()
    assert "does not hold" in " ".join(typed("curve", DAMPER).err.split())


@thorough_only("fits once more before it can tell")
def test_a_job_about_another_damper_is_refused(typed: Typed, shop: Path, runs: str) -> None:
    seen = typed("fit", DAMPER, runs, "--job", "jobs/a_more_support.toml")
    assert seen.code == 2
    assert "expected one about" in seen.err
