"""One shelf for the jobs of a day on the command line: shared, bought for, reserved whole or not at all."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.errors import ShimwrightError
from optimiser.ledger.connection import FILE_NAME
from tests.helpers.counts import thorough_only
from tests.helpers.ledger_shop import everything
from tests.helpers.paths import STIFF_SHOP

SHELF = "outer_mm,thickness_mm,hole_mm,count,drawer,label,low_at\n17,0.15,8,1,A4,,\n"
CATALOGUE = "outer_mm,thickness_mm,hole_mm,price,pack_size,label,delivery_days\n17,0.15,8,1.40,5,K7,2\n"


def run(*words: str) -> str:
    result = CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
    assert not result.return_value, result.output
    return result.output


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Plan two jobs that both want the last shim of a type, on dampers of their own."""
    folder = tmp_path_factory.mktemp("day") / "shop"
    shutil.copytree(STIFF_SHOP, folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        Path("shelf.csv").write_text(SHELF)
        Path("catalogue.csv").write_text(CATALOGUE)
        Path("day").mkdir()
        job = (
            Path("jobs/g_too_coarse.toml").read_text().replace("shift_percent = 40.0", "shift_percent = 10.0")
        )
        rider = Path("riders/tobias.toml").read_text()
        for name in ("anna", "bert"):
            Path(f"riders/{name}.toml").write_text(rider.replace("Tobias", name.title()))
            Path(f"day/{name}.toml").write_text(job.replace("tobias.toml", f"{name}.toml"))
        run("stock", "import", "shelf.csv", "--write")
        for name in ("anna", "bert"):
            plan = run("plan", f"day/{name}.toml", "--json")
            Path(f"day/{name}.json").write_text(plan)
    return folder


@pytest.fixture
def shop(planned: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(planned, tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    monkeypatch.setenv("COLUMNS", "120")
    return tmp_path / "shop"


def picks(*options: str) -> dict[str, int | None]:
    return {
        one["job"]: one["pick"] for one in json.loads(run("share-out", "day", "--json", *options))["jobs"]
    }


def test_the_last_shim_goes_to_one_and_the_other_is_told_what_it_lacks(shop: Path) -> None:
    said = run("share-out", "day")
    assert "1 of 2 jobs that a stack serves, proven the best." in said
    assert "not served: candidate 1 needs 1 of 17x0.15, hole 8, 0" in " ".join(said.split())
    assert "Nothing is reserved yet." in said


@pytest.mark.parametrize(
    "options", [("--first", "bert"), ("--due", "bert=2026-12-01"), ("--weight", "bert=2")]
)
def test_whose_turn_it_is_gets_it(shop: Path, options: tuple[str, ...]) -> None:
    assert picks(*options) == {"anna": None, "bert": 1}
    assert picks(*(text.replace("bert", "anna") for text in options)) == {"anna": 1, "bert": None}


def test_the_smallest_purchase_that_serves_all_is_named_with_its_price_and_days(shop: Path) -> None:
    said = " ".join(run("share-out", "day", "--catalogue", "catalogue.csv").split())
    assert (
        "To serve all of them buy 1 pack of 5 17x0.15, hole 8 (K7), 7.00, there in 2 days: the smallest"
        in said
    )
    bought = json.loads(run("share-out", "day", "--catalogue", "catalogue.csv", "--json"))["purchase"]
    assert (bought["price"], bought["days"], bought["proven"]) == (7.0, 2, True)


def test_a_day_is_reserved_and_every_sheet_is_made_when_somebody_asks_for_it(shop: Path) -> None:
    run("stock", "receive", "17x0.15", "1")
    assert "Reserved, all of it." in run("share-out", "day", "--reserve")
    assert "Still reserved for anna, candidate 1" in run("build", "day/anna.toml")
    sheet = Path("day/anna.html").read_text()
    assert "17x0.15" in sheet
    assert "Still reserved" in run("build", "day/anna.toml")
    assert Path("day/anna.html").read_text() == sheet
    run("done", "anna")
    run("release", "bert")
    assert "well" in run("check")


def test_when_one_job_cannot_be_reserved_none_is(shop: Path) -> None:
    run("stock", "receive", "17x0.15", "1")
    run("build", "day/bert.toml")
    before = everything(Path(FILE_NAME))
    plan = json.loads(Path("day/anna.json").read_text())
    plan["candidates"] = plan["candidates"][:1]
    Path("day/anna.json").write_text(json.dumps(plan))
    run("stock", "receive", "17x0.15", "1")
    before = everything(Path(FILE_NAME))
    with pytest.raises(ShimwrightError, match="already has candidate 1 reserved"):
        run("share-out", "day", "--reserve")
    assert everything(Path(FILE_NAME)) == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("jobs",), "got no planned job, expected answers beside the jobs. Run first: shimwright plan jobs"),
        (("day", "--pin", "anna=9"), "--pin: got anna=9, expected one of its"),
        (("day", "--pin", "anna"), "expected a job and a value"),
        (("day", "--first", "carla"), "got the job 'carla', expected one of anna, bert"),
        (("day", "--due", "anna=tomorrow"), "expected a day as 2026-12-01"),
        (("day", "--weight", "anna=0"), "expected a whole number from 1"),
    ],
)
def test_a_slip_is_refused_with_what_was_expected(shop: Path, words: tuple[str, ...], said: str) -> None:
    with pytest.raises(ShimwrightError, match=said):
        run("share-out", *words)


def test_what_a_plan_folds_under_another_candidate_is_chosen_from_and_built(shop: Path) -> None:
    plan = json.loads(Path("day/anna.json").read_text())
    run("stock", "receive", "17x0.15", "1")
    # Of a plan that lists its one candidate under another: the number goes on, and it is built by it.
    (first, *_) = plan["candidates"]
    keys = ("number_of_changes", "changes", "stack", "adjusters", "miss_percent", "from_shelf")
    plan["folded"] = [{"rank": 2, "like": 1} | {key: first[key] for key in keys}]
    plan["candidates"] = [first | {"from_shelf": [first["from_shelf"][0] | {"count": 9}]}]
    Path("day/anna.json").write_text(json.dumps(plan))
    assert picks() == {"anna": 2, "bert": 1}
    run("share-out", "day", "--reserve")
    assert "Still reserved for anna, candidate 2" in run("build", "day/anna.toml")


@thorough_only("plans four times; sharing out measured shims is tried by itself")
def test_the_one_shim_that_was_measured_is_not_promised_to_two(shop: Path) -> None:
    run("stock", "receive", "17x0.15", "1")
    run("stock", "measure", "17x0.15", "0.149")
    for name in ("anna", "bert"):
        plan = run("plan", f"day/{name}.toml", "--json")
        Path(f"day/{name}.json").write_text(plan)
        assert json.loads(plan)["candidates"][0]["from_shelf"][0]["readings_mm"] == [0.149]
    run("share-out", "day", "--reserve")
    took = [run("build", f"day/{name}.toml") for name in ("anna", "bert")]
    assert sum("measuring 0.149" in said for said in took) == 1
    assert "well" in run("check")
