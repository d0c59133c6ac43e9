"""A plan of a job whose stack was reserved or built: from the damper as it is now, and nothing is written over."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from optimiser.ledger.connection import Ledger
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only
from tests.helpers.ledger_shop import snapshot
from tests.helpers.paths import STIFF_SHOP

pytestmark = pytest.mark.usefixtures("plans_once")

JOB = "jobs/a_more_support.toml"
SHEET, BESIDE = Path("jobs/a_more_support.html"), Path("jobs/a_more_support-2.html")
SHELF = """outer_mm,thickness_mm,hole_mm,count,drawer,label,low_at
17,0.10,8,1,A1,,
14,0.10,8,1,A2,,
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: Typed) -> Path:
    """Work in the stiff shop's folder, with two types on the shelf and in the ledger."""
    shutil.copytree(STIFF_SHOP, tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    Path("shelf.csv").write_text(SHELF, encoding="utf-8")
    job = Path(JOB).read_text(encoding="utf-8")
    assert "most_changes" in job
    Path(JOB).write_text(re.sub(r"most_changes = \d", "most_changes = 1", job), encoding="utf-8")
    typed("stock", "import", "shelf.csv", "--write")
    return tmp_path / "shop"


def books(shop: Path) -> tuple[object, ...]:
    with Ledger.open(shop) as ledger:
        return snapshot(ledger)


def planned(shop: Path, typed: Typed, *options: str) -> dict[str, Any]:
    """Plan the job, and see that the ledger holds what it held."""
    before = books(shop)
    document: dict[str, Any] = json.loads(typed("plan", JOB, *options, "--json").out)
    assert books(shop) == before
    return document


def stack_text(candidate: dict[str, Any]) -> list[tuple[float, float]]:
    return [(shim["outer_diameter_mm"], shim["thickness_mm"]) for shim in candidate["stack"]]


@thorough_only("seven plans one after another; what people read of them is tried in a quick run")
def test_a_plan_follows_the_damper_from_shelf_through_build_and_done_and_back(
    shop: Path, typed: Typed
) -> None:
    """One walk, since each plan takes seconds."""
    first = planned(shop, typed)
    built = stack_text(first["candidates"][0])
    before = first["candidates"][0]["bands"]
    assert (first["sheet"], first["sheet_kept"], first["findings"]) == (str(SHEET), None, [])

    typed("build", JOB)
    sheet = SHEET.read_text(encoding="utf-8")
    again = planned(shop, typed)
    assert again["candidates"] == first["candidates"]
    assert [one["what"] for one in again["findings"]] == ["build of this job"]
    assert (again["sheet"], again["sheet_kept"]) == (str(BESIDE), str(SHEET))
    assert SHEET.read_text(encoding="utf-8") == sheet

    damper = shop / "dampers/tarn_shock.toml"
    old = damper.read_text(encoding="utf-8")
    typed("done", "a_more_support")
    new = damper.read_text(encoding="utf-8")
    damper.write_text(old, encoding="utf-8")  # somebody's older copy
    then = planned(shop, typed, "--sheet", str(SHEET))
    stale, done = then["findings"]
    assert stale["what"] == "stack 'compression stack' in the damper file"
    assert re.match(
        r"The stack is taken as built on \d{4}-\d\d-\d\d for job 'a_more_support'\. "
        r"Write it into dampers/tarn_shock\.toml: shims = \[",
        stale["do_this"],
    )
    assert done["what"] == "build of this job"
    assert done["do_this"].startswith("What the job asks counts from there, on top of it.")
    nearest = (then["candidates"] or [then["nearest"]])[0]
    for band, was in zip(nearest["bands"], before, strict=True):
        assert band["before_n"] == pytest.approx(was["after_n"], rel=5e-3)
    assert (then["sheet"], then["sheet_kept"]) == (str(BESIDE), str(SHEET))
    assert SHEET.read_text(encoding="utf-8") == sheet
    assert "The stack is taken as built on" in BESIDE.read_text(encoding="utf-8")

    # the file as 'done' wrote it makes that finding go away and nothing else
    damper.write_text(new, encoding="utf-8")
    written = planned(shop, typed)
    assert written["findings"] == [done]
    assert (written["candidates"], written["nearest"]) == (then["candidates"], then["nearest"])

    # as found, and after undo, the damper is what it was
    damper.write_text(old, encoding="utf-8")
    found = planned(shop, typed, "--as-found")
    assert found["findings"] == []
    assert found["candidates"][0]["bands"][0]["before_n"] == before[0]["before_n"]
    typed("undo")
    typed("undo")
    back = planned(shop, typed)
    assert back["findings"] == []
    assert stack_text(back["candidates"][0]) == built
    assert (back["sheet"], back["sheet_kept"]) == (str(SHEET), None)


@pytest.mark.usefixtures("shop")
@thorough_only("plans again and again; where a sheet goes is tried by the ledger's own tests")
def test_people_read_where_the_sheet_went_and_what_stays(typed: Typed) -> None:
    typed("build", JOB)
    older = Path("dampers/tarn_shock.toml").read_text(encoding="utf-8")
    typed("done", "a_more_support")
    Path("dampers/tarn_shock.toml").write_text(older, encoding="utf-8")
    seen = typed("plan", JOB)
    flat = " ".join(seen.out.split())
    assert (
        "Mind: stack 'compression stack' in the damper file: got an earlier one, expected the one in the"
        in flat
    )
    assert f"{SHEET} is the sheet of a build, and stays. Build sheet: {BESIDE}" in flat
    assert "The stack is taken as built on" in " ".join(typed("reach", JOB, "--changes", "0").out.split())


@pytest.mark.usefixtures("shop")
def test_a_folder_is_planned_from_what_the_ledger_knows_and_not_as_found(typed: Typed) -> None:
    seen = typed("plan", "jobs", "--as-found")
    assert seen.code == 2
    assert "--as-found: got the folder jobs, expected one job." in seen.err
