"""A build held against the dyno in the browser: compared, recorded once, taken out again."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.bench.doors import VisitorRole
from optimiser.cli import cli
from optimiser.ledger.connection import Ledger
from optimiser.ledger.measured_builds import measured_builds
from tests.helpers.bench_client import BenchClient
from tests.helpers.dyno_files import write_runs
from tests.helpers.ledger_shop import files_of
from tests.helpers.paths import STIFF_SHOP

JOB = "g_too_coarse"
PAGE = f"/jobs/{JOB}/measured"
SHELF = "outer_mm,thickness_mm,hole_mm,count\n20,0.15,8,6\n17,0.15,8,3\n"
SIDES = {"file first.csv": "before", "file second.csv": "after"}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop that built a job, with runs before and after."""
    folder = tmp_path_factory.mktemp("page") / "shop"
    shutil.copytree(STIFF_SHOP, folder)
    damper, job = folder / "dampers" / "dunnock_shock.toml", folder / "jobs" / f"{JOB}.toml"
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        Path("shelf.csv").write_text(SHELF)
        job.write_text(job.read_text().replace("shift_percent = 40.0", "shift_percent = 10.0"))
        (folder / "dyno").mkdir(exist_ok=True)
        write_runs(folder / "dyno" / "first.csv", damper)
        for words in (
            ("stock", "import", "shelf.csv", "--write"),
            ("build", f"jobs/{JOB}.toml"),
            ("done", JOB),
        ):
            CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
        write_runs(folder / "dyno" / "second.csv", damper)
    return folder


@pytest.fixture
def bench(built: Path, tmp_path: Path) -> BenchClient:
    return BenchClient(Path(shutil.copytree(built, tmp_path / "built"))).come_in()


def _recorded(client: BenchClient) -> int:
    with Ledger.look(client.shop) as ledger:
        return len(measured_builds(ledger))


def test_runs_of_both_sides_are_compared_recorded_and_taken_out_again(bench: BenchClient) -> None:
    page = bench.followed(f"{PAGE}/compare", SIDES).text.replace("&#39;", "'")
    assert "Written into the record; 'Take it out' takes it back." in page
    assert "as promised" in page
    assert "less than promised" not in page
    assert "1 build measured" in page
    assert "promised and measured. " in page, "and as a drawing with words"
    assert _recorded(bench) == 1
    bench.post(f"{PAGE}/compare", SIDES)
    assert _recorded(bench) == 1, "the latest counts"
    assert "out of the record" in bench.followed(f"{PAGE}/forget", {}).text
    assert _recorded(bench) == 0


def test_without_a_run_before_it_is_shown_and_not_written_down(bench: BenchClient) -> None:
    before = files_of(bench.shop)
    page = bench.post(f"{PAGE}/compare", {"file second.csv": "after"})
    assert page.status == 200
    assert "Nothing is written into the record" in page.text
    assert "as promised" in page.text
    assert files_of(bench.shop) == before


@pytest.mark.parametrize(
    "form", [{}, {"file first.csv": "before"}, {"file ../shelf.csv": "after"}, {"file first.csv": "never"}]
)
def test_a_comparison_without_runs_after_is_refused(bench: BenchClient, form: dict[str, str]) -> None:
    before = files_of(bench.shop)
    assert bench.post(f"{PAGE}/compare", form).status == 422
    assert files_of(bench.shop) == before


def test_a_job_that_is_not_built_has_nothing_to_measure(bench: BenchClient, worker: BenchClient) -> None:
    assert "No build of this job is done yet" in worker.get("/jobs/a_more_support/measured").text
    assert (
        worker.post("/jobs/a_more_support/measured/compare", {"file tarn_peaks.csv": "after"}).status == 422
    )
    assert worker.post("/jobs/a_more_support/measured/forget", {}).status == 422
    guest = BenchClient(bench.shop).come_in(VisitorRole.LOOKS_ON)
    assert '<form method="post"' not in guest.get(PAGE).text
    assert guest.post(f"{PAGE}/compare", SIDES).status == 403
