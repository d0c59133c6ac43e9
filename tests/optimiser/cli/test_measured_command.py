"""A build laid over its promise on the command line: measured, recorded, forgotten, refused."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.errors import ShimwrightError
from tests.helpers.dyno_files import write_runs
from tests.helpers.paths import STIFF_SHOP

JOB = "jobs/g_too_coarse.toml"
SHELF = "outer_mm,thickness_mm,hole_mm,count\n20,0.15,8,6\n17,0.15,8,3\n"


def run(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
    assert (result.return_value or 0) == code, result.output
    return result.output


def recorded(file: str, *, clicks: dict[str, int] | None = None) -> None:
    """Measure what is in the damper's file."""
    write_runs(Path(file), Path("dampers/dunnock_shock.toml"), clicks=clicks)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build a job and measure its damper before and after."""
    folder = tmp_path_factory.mktemp("measured") / "shop"
    shutil.copytree(STIFF_SHOP, folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        Path("shelf.csv").write_text(SHELF)
        Path(JOB).write_text(Path(JOB).read_text().replace("shift_percent = 40.0", "shift_percent = 10.0"))
        run("stock", "import", "shelf.csv", "--write")
        recorded("before.csv")
        run("build", JOB)
        with pytest.raises(ShimwrightError, match="no build of it is done"):
            run("measured", JOB, "before.csv")
        run("done", "g_too_coarse")
        recorded("after.csv")
        recorded("elsewhere.csv", clicks={"rebound": 0})
    return folder


@pytest.fixture
def here(shop: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(shop)
    monkeypatch.setenv("COLUMNS", "100")
    return shop


def test_a_damper_that_is_what_its_file_says_does_what_was_promised_and_is_recorded(here: Path) -> None:
    said = run("measured", "g_too_coarse", "after.csv", "--before", "before.csv")
    assert "as promised" in said
    assert "less than promised" not in said
    assert "-*-" in said
    assert "1 build measured" in said
    assert "Wrong? shimwright measured g_too_coarse --forget" in said
    found = json.loads(run("measured", "--json"))
    assert found["record"]["builds"] == 1
    (band, *_) = found["builds"][0]["bands"]
    assert band["promised_percent"] == pytest.approx(band["measured_percent"], abs=0.6)
    assert "g_too_coarse, Dunnock 55 shock" in run("measured")
    assert "well" in run("check")


def test_measured_again_the_latest_counts_and_forgotten_none_does(here: Path) -> None:
    for _ in range(2):
        run("measured", JOB, "after.csv", "--before", "before.csv")
    assert json.loads(run("measured", "--json"))["record"]["builds"] == 1
    assert "out of the record" in run("measured", "g_too_coarse", "--forget")
    assert json.loads(run("measured", "--json"))["record"] is None
    assert "No build was measured yet." in run("measured")


def test_without_a_run_before_nothing_is_recorded_and_that_is_said(here: Path) -> None:
    said = run("measured", JOB, "after.csv")
    assert "Nothing was written to the record. Add --before FILE" in said
    assert json.loads(run("measured", "--json"))["record"] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((JOB, "elsewhere.csv"), "rebound 0 out instead of"),
        ((JOB, "none.csv"), "none.csv"),
        (("--before", "before.csv"), "--before belongs to runs after the build"),
        (("--forget",), "--forget takes a JOB and no runs"),
        (("nobody", "after.csv"), "no build of it is done"),
    ],
)
def test_what_cannot_be_laid_over_a_promise_is_refused_with_the_way_out(
    here: Path, words: tuple[str, ...], said: str
) -> None:
    with pytest.raises(ShimwrightError, match=said):
        run("measured", *words)
    assert json.loads(run("measured", "--json"))["record"] is None
