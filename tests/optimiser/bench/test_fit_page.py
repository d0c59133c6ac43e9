"""A fit in the browser: made in the background, judged as the command judges it, kept or taken back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimiser.bench.fit_folder import FitAsked
from optimiser.bench.search_folder import seen_of
from optimiser.bench.search_process import fit
from optimiser.bench.work_folder import SearchState
from optimiser.documents.fit import FigureDocument, FitDocument, MissDocument
from optimiser.documents.fit_kept import FitKeptDocument, KeptLine
from optimiser.files.damper_builder import read_damper
from optimiser.files.fit_file import place_beside
from tests.helpers.bench_client import BenchClient
from tests.helpers.counts import thorough_only
from tests.helpers.ledger_shop import files_of

PLACE = "/dampers/tarn_shock/fit"


def _damper(client: BenchClient) -> Path:
    return client.shop / "dampers" / "tarn_shock.toml"


def _fitted(client: BenchClient, *, holds: bool) -> None:
    """A fit that is there, without the work for it."""
    folder, path = client.searches.fit("tarn_shock"), _damper(client)
    folder.begin(FitAsked(damper=path, files=(client.shop / "dyno" / "tarn_peaks.csv",), seen=seen_of(path)))
    document = FitDocument(
        damper="Tarn", points=30, runs=3, holds=holds, against="" if holds else "It bends.", sum_of_squares=1.0,
        expected_sum=30, chance_of_larger=0.5, chance_of_pattern=0.5, errors_widened_by=1.0,
        figures=[
            FigureDocument(
                words="open areas of 'rebound'", part="rebound", figure="area", label="identified", moved="-1.5 %",
                moved_between=("-2.1 %", "-0.9 %"), deviations=-0.2, least_deviations=-0.3, most_deviations=-0.1,
                plan_deviations=-0.2,
            )
        ],
        told_only_together=[],
        bands=[
            MissDocument(
                band="low speed", stroke="rebound", points=6, as_written_percent=3.4, fitted_percent=1.8,
                plan_percent=1.8,
            )
        ],
        points_fitted=[], discrepancy_percent=1.0, discrepancy=[], left_out=[], next_run=None, written=None,
        picture=None,
    )  # fmt: skip
    said = ["The fit holds." if holds else "The fit does not hold: <b>it bends</b>."]
    line = KeptLine(name="as written", velocities_m_s=[-1, -0.1, 0.1, 1], forces_n=[900, 90, 80, 800])
    folder.keep(
        FitKeptDocument(
            fit=document, verdict={"metric": said}, told=["Plans use these figures."], notes=[],
            lines=[line], measured=[line],
        ),
        staged="# a fit\n",
    )  # fmt: skip


def test_a_fit_that_holds_is_kept_beside_the_file_and_taken_back(worker: BenchClient) -> None:
    _fitted(worker, holds=True)
    before = _damper(worker).read_bytes()
    page = worker.get(PLACE).text
    assert "The fit holds." in page
    assert "-2.1 % and -0.9 %" in page
    assert 'class="measured"' in page
    place = place_beside(_damper(worker))
    assert not place.exists(), "nothing is kept before somebody says so"
    assert "Kept: plans use these figures" in worker.followed(f"{PLACE}/keep", {}).text
    assert place.read_text(encoding="utf-8") == "# a fit\n"
    assert _damper(worker).read_bytes() == before
    assert "Taken back" in worker.followed(f"{PLACE}/forget", {}).text
    assert not place.exists()
    assert "There was no fit" in worker.followed(f"{PLACE}/forget", {}).text


def test_a_fit_that_does_not_hold_is_kept_only_even_so(worker: BenchClient) -> None:
    _fitted(worker, holds=False)
    assert "&lt;b&gt;it bends" in worker.get(PLACE).text
    assert worker.post(f"{PLACE}/keep", {}).status == 422
    assert not place_beside(_damper(worker)).exists()
    assert worker.post(f"{PLACE}/keep", {"even so": "yes"}).status == 303


def test_a_fit_of_a_file_that_has_changed_since_is_not_kept(worker: BenchClient) -> None:
    _fitted(worker, holds=True)
    _damper(worker).write_text(_damper(worker).read_text(encoding="utf-8") + "\n# turned\n", encoding="utf-8")
    assert "has changed since" in worker.get(PLACE).text
    assert worker.post(f"{PLACE}/keep", {}).status == 422
    assert not place_beside(_damper(worker)).exists()


def test_what_was_put_right_of_the_runs_goes_into_the_fit(worker: BenchClient) -> None:
    form = {
        "files": "tarn_peaks.csv/tarn_sine.csv",
        "click rebound": "7",
        "temperature": "55 C",
        "stroke": "",
    }
    page = worker.followed(f"{PLACE}/ask", form).text
    assert "waits for 1 other search" in page or "waits for" in page or "beginning" in page
    asked = worker.searches.fit("tarn_shock").asked()
    assert dict(asked.wishes) == {"click rebound": "7", "temperature": "55 C"}
    assert [one.name for one in asked.files] == ["tarn_peaks.csv", "tarn_sine.csv"]
    assert asked.seen == seen_of(_damper(worker))
    assert json.loads(worker.get(f"{PLACE}/now").text)["done"] is False
    assert "nothing is kept" in worker.followed(f"{PLACE}/stop", {}).text
    assert worker.searches.fit("tarn_shock").state is SearchState.STOPPED


@pytest.mark.parametrize(
    "form",
    [
        {}, {"files": "../shelf.csv"}, {"files": "none.csv"}, {"files": "/".join(["tarn_peaks.csv"] * 13)},
        {"files": "tarn_peaks.csv", "temperature": "warm"}, {"files": "tarn_peaks.csv", "click rebound": "999"},
    ],
)  # fmt: skip
def test_a_fit_that_is_asked_for_oddly_is_refused_and_not_begun(
    worker: BenchClient, form: dict[str, str]
) -> None:
    before = files_of(worker.shop)
    assert worker.post(f"{PLACE}/ask", form).status == 422
    assert worker.post(f"{PLACE}/keep", {}).status == 422
    assert files_of(worker.shop) == before


@thorough_only("fits a damper in full")
def test_the_background_fits_as_the_command_does(worker: BenchClient) -> None:
    folder, path = worker.searches.fit("tarn_shock"), _damper(worker)
    asked = FitAsked(damper=path, files=(worker.shop / "dyno" / "tarn_peaks.csv",), seen=seen_of(path))
    folder.begin(asked)
    fit(folder, asked)
    assert folder.state is SearchState.DONE, folder.fault
    assert (
        "The fit holds: with these figures the model meets measured forces to 1.2 %."
        in worker.get(PLACE).text
    )
    worker.post(f"{PLACE}/keep", {})
    assert read_damper(path).fitted is not None
    worker.post(f"{PLACE}/forget", {})
    assert read_damper(path).fitted is None


def test_a_fit_that_is_stopped_keeps_nothing(worker: BenchClient) -> None:
    folder, path = worker.searches.fit("tarn_shock"), _damper(worker)
    asked = FitAsked(damper=path, files=(worker.shop / "dyno" / "tarn_peaks.csv",))
    folder.begin(asked)
    folder.stop()
    fit(folder, asked)
    assert folder.state is SearchState.STOPPED
    assert "It was stopped before it was done" in worker.get(PLACE).text


def test_a_spoiled_fit_is_told_and_the_way_to_another_stays(worker: BenchClient) -> None:
    _fitted(worker, holds=True)
    place = worker.searches.fit("tarn_shock").path / "fit.json"
    kept = json.loads(place.read_text(encoding="utf-8"))
    kept["lines"][0]["forces_n"].pop()
    for spoiled in (json.dumps(kept), "{}", "\ufffd"):
        place.write_text(spoiled, encoding="utf-8")
        page = worker.get(PLACE).text
        assert "cannot be read. Fit again; that writes it anew." in page
        assert 'href="/dampers/tarn_shock/runs"' in page
        assert worker.post(f"{PLACE}/keep", {}).status == 422
