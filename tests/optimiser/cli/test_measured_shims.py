"""From the micrometer to the damper: measured, named on plan and sheet, gone from the drawer when fitted."""

import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.errors import ShimwrightError
from tests.helpers.counts import thorough_only
from tests.helpers.paths import STIFF_SHOP

JOB = "jobs/g_too_coarse.toml"
SHELF = """outer_mm,thickness_mm,hole_mm,count,drawer
20,0.15,8,6,A1
17,0.15,8,3,A4
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in the stiff shop's folder, with few types in the ledger and one change enough."""
    shutil.copytree(STIFF_SHOP, tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    monkeypatch.setenv("COLUMNS", "120")
    Path("shelf.csv").write_text(SHELF)
    job = Path(JOB)
    job.write_text(job.read_text().replace("shift_percent = 40.0", "shift_percent = 10.0"))
    run("stock", "import", "shelf.csv", "--write")
    return tmp_path / "shop"


def run(*words: str) -> str:
    result = CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
    assert not result.return_value, result.output
    return result.output


def taken(*options: str) -> dict[str, object]:
    plan = json.loads(run("plan", JOB, "--json", *options))
    (first, *_) = plan["candidates"][0]["from_shelf"]
    return first


def test_from_the_micrometer_to_the_damper(shop: Path) -> None:
    plain = taken()
    kind = f"{plain['outer_diameter_mm']:g}x{plain['thickness_mm']:.2f}"
    nominal = round(1000 * float(str(plain["thickness_mm"])))
    said = run("stock", "measure", kind, f"{(nominal + 5) / 1000:.3f}; {(nominal - 2) / 1000:.3f}")
    assert "2 measured" in said
    assert f"2, {(nominal - 2) / 1000:.3f}" in run("stock", "list")

    named = taken()
    assert named["readings_mm"] == [(nominal - 2) / 1000]
    text = run("plan", JOB)
    assert f"measuring {(nominal - 2) / 1000:.3f}" in " ".join(text.split())
    assert "Built of the measured shims that are named:" in text
    assert f"measuring {(nominal - 2) / 1000:.3f}" in Path(JOB).with_suffix(".html").read_text()

    assert f"measuring {(nominal - 2) / 1000:.3f}" in run("build", JOB)
    run("done", "g_too_coarse")
    types = json.loads(run("stock", "list", "--json"))["types"]
    left = next(
        t["readings_mm"] for t in types if f"{t['outer_diameter_mm']:g}x{t['thickness_mm']:.2f}" == kind
    )
    assert left == [(nominal + 5) / 1000]


@thorough_only("plans twice more; the search in hand and the books are tried by themselves")
def test_planned_with_what_is_in_the_hand_it_is_built_of_that_and_the_damper_file_says_so(shop: Path) -> None:
    for kind, count in (("20x0.15", 6), ("17x0.15", 3)):
        run("stock", "measure", kind, f"{count} of 0.151")
    plan = run("plan", JOB, "--json", "--measured")
    Path("plan.json").write_text(plan)
    first = json.loads(plan)["candidates"][0]["from_shelf"][0]
    assert first["drawer_of"] is not None
    real = f"{first['outer_diameter_mm']:g}x{first['thickness_mm']:.3f}"
    drawer = f"{first['outer_diameter_mm']:g}x{first['drawer_of']['thickness_mm']:.2f}"
    said = run("build", JOB, "--plan", "plan.json")
    assert f"of {drawer}, hole 8 from the shelf, measuring {first['thickness_mm']:.3f}" in said
    run("done", "g_too_coarse")
    assert real in Path("dampers/dunnock_shock.toml").read_text()
    assert "well" in run("check")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("20x0.15", "0.3"),
            "stock measure: expected readings within 25 % of the 0.15 mm of the type, got 0.3",
        ),
        (("20x0.15", "9 of 0.15"), "20x0.15: got 9 readings, expected at most the 6 free"),
        (("21x0.10", "0.1"), "21x0.10"),
    ],
)
def test_a_slip_at_the_micrometer_is_refused_and_changes_nothing(
    shop: Path, words: tuple[str, ...], said: str
) -> None:
    with pytest.raises(ShimwrightError, match=re.escape(said)):
        run("stock", "measure", *words)
    assert "Measured" not in run("stock", "list")


def test_readings_are_forgotten_when_none_are_given_and_undo_brings_them_back(shop: Path) -> None:
    run("stock", "measure", "20x0.15", "0.151")
    assert "readings forgotten" in run("stock", "measure", "20x0.15")
    assert "Measured" not in run("stock", "list")
    run("undo")
    assert "1 at 0.151" in run("stock", "list")
