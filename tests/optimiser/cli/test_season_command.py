"""A season's drawer on the command line: reach against price, and the books as they were."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.errors import ShimwrightError
from optimiser.ledger.connection import FILE_NAME
from tests.helpers.ledger_shop import everything
from tests.helpers.paths import STIFF_SHOP

SHELF = "outer_mm,thickness_mm,hole_mm,count,drawer,label,low_at\n17,0.15,8,1,A4,,\n"
CATALOGUE = "outer_mm,thickness_mm,hole_mm,price,pack_size,label\n17,0.15,8,1.40,3,K7\n16,0.30,8,,1,K8\n"


def run(*words: str) -> str:
    result = CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
    assert not result.return_value, result.output
    return result.output


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lay out a shop with a ledger, one shim on the shelf, and two jobs; one of them has its basics wrong."""
    folder = tmp_path_factory.mktemp("season") / "shop"
    shutil.copytree(STIFF_SHOP, folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        Path("shelf.csv").write_text(SHELF)
        Path("catalogue.csv").write_text(CATALOGUE)
        Path("season").mkdir()
        job = Path("jobs/g_too_coarse.toml").read_text()
        job = job.replace("shift_percent = 40.0", "shift_percent = 10.0")
        Path("season/stiffer.toml").write_text(job.replace("most_changes = 2", "most_changes = 1"))
        shutil.copy("jobs/c_sag_first.toml", "season/sag.toml")
        run("stock", "import", "shelf.csv", "--write")
    return folder


@pytest.fixture(autouse=True)
def _there(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(shop)
    monkeypatch.setenv("COLUMNS", "100")


SEASON = ("season", "season", "--catalogue", "catalogue.csv", "--each", "5")


def test_each_price_says_how_many_jobs_stay_within_reach_and_the_books_stay_as_they_are() -> None:
    before, files = everything(Path(FILE_NAME)), sorted(Path("season").iterdir())
    found = json.loads(run(*SEASON, "--json"))
    assert [(one["price"], one["served"], one["proven"]) for one in found["points"]] == [
        (0.0, 1, True), (4.2, 4, True), (8.4, 5, True)
    ]  # fmt: skip
    assert (found["asked"], found["proven"], found["unpriced"], found["shown"]) == (5, True, 1, 2)
    assert [(one["job"], one["counted"], one["finding"]) for one in found["jobs"]] == [
        ("sag", False, "basics first"), ("stiffer", True, "ways found")
    ]  # fmt: skip
    assert found["points"][2]["buy"] == [
        {"outer_diameter_mm": 17, "thickness_mm": 0.15, "inner_diameter_mm": 8, "packs": 2}
    ]
    assert found["points"][2]["takes"][0]["count"] == 5
    assert (everything(Path(FILE_NAME)), sorted(Path("season").iterdir())) == (before, files)


def test_people_read_the_same_with_what_to_hold_for_what_they_would_spend() -> None:
    said = " ".join(run(*SEASON, "--spend", "5").split())
    assert "4.20 4 of 5 ████████████████░░░░ 1 x 3 of 17x0.15, hole 8 (K7)" in said
    assert "Proven: no cheaper purchase keeps as many jobs within reach" in said
    assert "Types without a price were left out: 1." in said
    assert "sag: basics first, not counted." in said
    assert "To hold for 4.20, with 4 of 5 jobs within reach:" in said
    assert "17x0.15, hole 8 1 4 1 x 3 of 17x0.15, hole 8 (K7)" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--times", "carla=3"), "expected a job and a number, as 'my_job=4'. The jobs are sag, stiffer"),
        (("--times", "stiffer=0"), "expected a whole number from 1 to 1000"),
    ],
)
def test_a_slip_is_refused_with_what_was_expected(words: tuple[str, ...], said: str) -> None:
    with pytest.raises(ShimwrightError, match=said):
        run(*SEASON, *words)


def test_jobs_of_two_shelves_are_refused_where_no_ledger_says_what_is_free(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shutil.copytree(STIFF_SHOP, tmp_path / "shop"))
    Path("catalogue.csv").write_text(CATALOGUE)
    shutil.copy("shelf.csv", "other.csv")
    job = Path("jobs/a_more_support.toml")
    Path("jobs/other.toml").write_text(job.read_text().replace("shelf.csv", "other.csv"))
    with pytest.raises(ShimwrightError, match=r"got jobs of 2 shelves .*, expected one for all of them"):
        run("season", "jobs", "--catalogue", "catalogue.csv")
