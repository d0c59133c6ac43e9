"""The ledger on the command line: what it prints, what it exits with, and that nothing ends in a traceback."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from optimiser.cli import build_command, cli, main
from optimiser.documents.common import ChangesDocument, CountedShim, EffortDocument, ShimDocument
from optimiser.documents.plan import CandidateDocument, PlanDocument
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.files.parts import part_of
from optimiser.files.writing import Draft
from optimiser.intake.adjusted import Adjusted
from optimiser.jobs.job import Job
from optimiser.jobs.variant import Variant
from optimiser.jobs.way_out import typed
from tests.helpers.ledger_shop import everything, files_of
from tests.helpers.paths import STIFF_SHOP
from tests.optimiser.ledger.test_disk import largest_file

JOB = "jobs/a_more_support.toml"
STACK = "compression stack"
SHIMS = 'shims = ["6 of 20x0.10", "12x0.10", "4 of 19x0.10", "15x0.15", "12x0.15", "11x0.20", "9x0.30"]'
SHELF = """outer_mm,thickness_mm,hole_mm,count,drawer,label,low_at
20,0.10,8,8,A1,,2
20,0.15,8,6,A1,,2
13,0.10,8,4,A2,,
12,0.10,8,4,A2,,
11,0.10,8,4,A3,,
11,0.10,6,5,B1,,
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in the stiff shop's folder, with a small shelf in the ledger and a known stack in the damper."""
    shutil.copytree(STIFF_SHOP, tmp_path / "shop")
    monkeypatch.chdir(tmp_path / "shop")
    Path("shelf.csv").write_text(SHELF)
    damper = Path("dampers/tarn_shock.toml")
    damper.write_text(re.sub(r"shims = \[[^\]]*\]", SHIMS, damper.read_text(), count=1))
    monkeypatch.setenv("COLUMNS", "100")
    run("stock", "import", "shelf.csv", "--write")
    return tmp_path / "shop"


def run(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(cli, words, catch_exceptions=False, standalone_mode=False)
    assert (result.return_value or 0) == code, result.output
    return result.output


def refused(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> str:
    """Run as the installed command does; give what it says on stderr."""
    monkeypatch.setattr("sys.argv", ["shimwright", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    return said.err


def shim(outer: float, thickness: float, hole: float = 8.0) -> dict[str, float]:
    return {"outer_diameter_mm": outer, "thickness_mm": thickness, "inner_diameter_mm": hole}


def a_plan(stack: list[tuple[float, float]]) -> PlanDocument:
    """Plan to swap the 12x0.10 for an 11x0.10, or for a 13x0.10 as candidate 2."""
    candidates = [
        CandidateDocument(
            rank=rank,
            number_of_changes=1,
            changes=ChangesDocument(
                out=[CountedShim(**shim(12.0, 0.1), count=1)], put_in=[CountedShim(**shim(*new), count=1)]
            ),
            steps=["swap"],
            stack=[ShimDocument(**shim(*(new if size == (12.0, 0.1) else size))) for size in stack],
            height_mm=5.0,
            height_change_mm=0.0,
            adjusters={},
            bands=[],
            miss_percent=0.0,
            change_elsewhere_percent=0.0,
            from_shelf=[],
            misfit=0.0,
            best_at=[],
        )
        for rank, new in ((1, (11.0, 0.1)), (2, (13.0, 0.1)))
    ]
    return PlanDocument(
        job="Invented",
        damper="Tarn 55 trail shock",
        stack_name=STACK,
        outcome="shims",
        status="proven least",
        said="One change does.",
        most_changes=3,
        proven_too_few=0,
        findings=[],
        override_reason=None,
        candidates=candidates,
        nearest=None,
        nearest_proven=False,
        effort=EffortDocument(physics_runs=1, families=1, stacks_checked=1),
        sheet=None,
    )


@pytest.fixture
def planner(shop: Path, monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Stand in for the search, which has tests of its own: two candidates, and a sheet of one word."""
    from optimiser.ledger.job_record import job_record

    before = [
        (key.outer / 1000, key.thickness / 1000) for key in job_record(read_job(Path(JOB))).stacks[STACK]
    ]
    asked = []

    def planned(loaded: Job, _record: tuple[Any, ...], **_: None) -> None:
        asked.append(loaded)

    monkeypatch.setattr(build_command, "_plan", planned)
    monkeypatch.setattr(build_command, "_answer", lambda _: ((None, None), a_plan(before)))
    monkeypatch.setattr(build_command, "_sheet", lambda *_: "<p>sheet</p>")
    return asked


def on_shelf(outer: float, thickness: float) -> tuple[int, int, int]:
    rows = json.loads(run("stock", "list", "--json"))["types"]
    return next(
        (row["shelf"], row["reserved"], row["free"])
        for row in rows
        if (row["outer_diameter_mm"], row["thickness_mm"], row["inner_diameter_mm"])
        == (outer, thickness, 8.0)
    )


@pytest.mark.usefixtures("planner")
def test_build_done_and_undo_walk_from_shelf_to_damper_and_back() -> None:
    shelf, _, _ = on_shelf(11.0, 0.1)
    back, _, _ = on_shelf(12.0, 0.1)
    text = run("build", JOB, "--pick", "1")
    assert "take 1 of 11x0.10, hole 8 from the shelf" in text
    assert Path("jobs/a_more_support.html").read_text() == "<p>sheet</p>"
    assert on_shelf(11.0, 0.1) == (shelf, 1, shelf - 1)
    found = Path("dampers/tarn_shock.toml").read_text()
    text = run("done", JOB)
    assert "1 fitted, 1 put back on the shelf, 0 scrapped" in text
    assert "dampers/tarn_shock.toml: 'compression stack' is now as it is in the damper." in text
    assert '"11x0.10"' in Path("dampers/tarn_shock.toml").read_text()
    assert on_shelf(11.0, 0.1) == (shelf - 1, 0, shelf - 1)
    assert on_shelf(12.0, 0.1) == (back + 1, 0, back + 1)
    assert "taken back: done" in run("undo")
    assert Path("dampers/tarn_shock.toml").read_text() == found
    assert "taken back: build" in run("undo")
    assert on_shelf(11.0, 0.1) == (shelf, 0, shelf)
    assert "The ledger is well" in run("check")


@pytest.mark.usefixtures("shop")
def test_a_plan_is_made_from_what_is_free_and_not_from_the_shelf_file(planner: list[Any]) -> None:
    run("stock", "scrap", "11x0.10", "1", "--hole", "8")
    run("build", JOB)
    free = {str(key): count for key, count in planner[0].stock.counts.items() if key.inner == 8000}
    assert free["11x0.10"] == on_shelf(11.0, 0.1)[0]


@pytest.mark.usefixtures("planner")
def test_build_again_writes_the_sheet_again_and_reserves_nothing_more() -> None:
    run("build", JOB)
    Path("jobs/a_more_support.html").unlink()
    assert "Still reserved" in run("build", JOB)
    assert Path("jobs/a_more_support.html").exists()
    assert on_shelf(11.0, 0.1)[1] == 1


@pytest.mark.usefixtures("planner")
def test_the_second_bench_is_told_who_has_the_shim_and_what_he_can_still_build(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("build", JOB)
    run("stock", "count", "11x0.10", "1", "--hole", "8")
    another_rider()
    said = refused(capsys, monkeypatch, "build", "jobs/other.toml")
    assert "11x0.10 (hole 8 mm): needs 1, 0 free on the shelf; job 'a_more_support' has the rest" in said
    assert "Still buildable from what is free: candidate 2 of the same plan" in said


def test_a_plan_whose_shims_went_to_another_job_is_told_so_before_anything_is_planned(
    planner: list[Any], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("build", JOB)
    run("stock", "count", "11x0.10", "1", "--hole", "8")
    another_rider()
    Path("plan.json").write_text(a_plan([(20.0, 0.1), (12.0, 0.1)]).model_dump_json())
    planner.clear()
    said = refused(capsys, monkeypatch, "build", "jobs/other.toml", "--plan", "plan.json")
    assert "job 'a_more_support' has the rest" in said
    assert "candidate 2 of the same plan" in said
    assert planner == []


def test_a_build_asks_for_what_its_plan_was_asked_with_the_same_options(planner: list[Any]) -> None:
    """The line that a plan of a variant ends with is given as it stands."""
    variant = Variant(
        tolerances={"square edges": 0.04}, shifts={"low-speed support": 0.2}, most_changes=1, stack=STACK
    )
    line = typed(read_job(Path(JOB)), variant, override=None, command="build")
    run(*shlex.split(line)[1:], "--pick", "1")
    (asked,) = planner
    assert asked.variant == variant
    assert asked.work.most_changes == 1
    assert asked.asked.adjusted == Adjusted({"square edges": 0.04}, {"low-speed support": 0.2})


def another_rider() -> None:
    """Lay out the same job for a second rider, on a damper of the same make."""
    shutil.copy(JOB, "jobs/other.toml")
    shutil.copy("riders/ines.toml", "riders/other.toml")
    for name, old, new in (
        ("riders/other.toml", "Ines", "Maren"),
        ("jobs/other.toml", "ines.toml", "other.toml"),
    ):
        Path(name).write_text(Path(name).read_text().replace(old, new))


@pytest.mark.usefixtures("planner")
def test_a_candidate_that_is_no_longer_what_the_plan_file_says_is_refused(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    document = a_plan([(20.0, 0.1), (12.0, 0.1)])
    Path("plan.json").write_text(document.model_dump_json())
    said = refused(capsys, monkeypatch, "build", JOB, "--plan", "plan.json")
    assert "Candidate 1 of this plan is none of today's" in said
    Path("plan.json").write_text("{}")
    assert "expected what 'shimwright plan JOB --json' writes" in refused(
        capsys, monkeypatch, "build", JOB, "--plan", "plan.json"
    )
    assert on_shelf(11.0, 0.1)[1] == 0


@pytest.mark.usefixtures("planner")
def test_what_came_out_bent_is_named_as_the_tuner_names_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("build", JOB)
    said = refused(capsys, monkeypatch, "done", JOB, "--scrap", "19x0.10")
    assert "expected one of what came out of the damper: 12x0.10, hole 8" in said
    assert "0 put back on the shelf, 1 scrapped" in run("done", JOB, "--scrap", "1 of 12x0.1")


@pytest.mark.usefixtures("planner")
def test_after_done_a_damper_file_that_was_not_brought_up_to_date_is_refused(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    older = Path("dampers/tarn_shock.toml").read_text()
    run("build", JOB)
    run("done", JOB)
    Path("dampers/tarn_shock.toml").write_text(older)
    said = refused(capsys, monkeypatch, "build", JOB)
    assert "Write that into the damper file" in said
    run("build", JOB, "--as-found")


def test_a_job_that_is_done_says_so_before_it_is_planned_on_top_of_itself(
    planner: list[Any], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("build", JOB)
    run("done", JOB)
    assert "no longer as this plan saw it" in refused(capsys, monkeypatch, "build", JOB)
    notices = [notice for notice in planner[-1].noticed if notice.what == "build of this job"]
    assert [notice.got for notice in notices] == ["candidate 1, in the damper now"]
    assert not planner[0].noticed


@pytest.mark.usefixtures("planner")
def test_a_damper_file_that_two_machines_share_is_left_alone_and_the_lines_are_said() -> None:
    other = Path("jobs/other.toml")
    other.write_text(Path(JOB).read_text().replace("oxlip_trail", "corbel_enduro"))
    run("build", str(other))
    run("release", "other")
    run("build", JOB)
    before = Path("dampers/tarn_shock.toml").read_text()
    said = run("done", JOB)
    assert "is as it was, since more than one machine has this damper" in said
    assert 'shims = ["6 of 20x0.10", "11x0.10",' in said
    assert Path("dampers/tarn_shock.toml").read_text() == before


@pytest.mark.usefixtures("planner")
def test_release_and_outcome_and_the_riders_record(tmp_path: Path) -> None:
    run("build", JOB)
    assert "a_more_support: 1 put back, free again" in run("release", "a_more_support")
    run("outcome", "a_more_support", "Edges as before.")
    shown = run("person", "show", "Ines")
    assert "ride: Edges as before." in shown
    assert "as found, compression stack" in shown
    assert json.loads(run("person", "export", "Ines", "--json"))["name"] == "Ines"
    run("person", "export", "Ines", "--out", str(tmp_path / "ines.json"))
    assert json.loads((tmp_path / "ines.json").read_text())["name"] == "Ines"
    assert "Ines is erased: 1 jobs" in run("person", "erase", "Ines", "--yes")


@pytest.mark.usefixtures("planner")
def test_undo_of_a_ridden_build_says_what_becomes_of_the_words_on_its_ride() -> None:
    run("build", JOB)
    run("done", "a_more_support")
    assert "no longer counts" not in run("undo")
    run("done", "a_more_support")
    run("outcome", "a_more_support", "worse")
    assert "'worse' stays written under a_more_support, and no longer counts" in run("undo")


def test_check_ends_with_1_and_the_way_out_when_something_is_found(shop: Path) -> None:
    path = shop / "shimwright.ledger"
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 3 + 64] = b"\xa5" * 64
    path.write_bytes(data)
    assert "newest backup in its place" in run("check", code=1)
    assert json.loads(run("check", "--json", code=1))[0]["mend"]


@pytest.mark.usefixtures("shop")
def test_an_import_is_shown_first_and_then_written() -> None:
    old = Path("shelf.csv").read_text()
    before = on_shelf(20.0, 0.1)[0]
    text = old.replace(f"20,0.10,8,{before},A1", f"20,0.10,8,{before + 1},B1")
    Path("new.csv").write_text(text)
    shown = run("stock", "import", "new.csv")
    assert f"1 lines differ, {len(old.splitlines()) - 2} agree" in shown
    assert "drawer B1" in shown
    assert on_shelf(20.0, 0.1)[0] == before
    document = json.loads(run("stock", "import", "new.csv", "--write", "--json"))
    assert document["written"] is True
    assert document["changes"][0]["line"] == 2
    assert on_shelf(20.0, 0.1)[0] == before + 1
    assert run("stock", "export").splitlines()[0].startswith("outer_mm")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("stock", "receive", "99x0.15", "1"), "a diameter from 5 to 60 mm, got 99"),
        (("stock", "receive", "20x0.16", "1"), "Say its hole with --hole"),
        (("stock", "receive", "40,15", "1"), "got '40,15'."),
        (("stock", "receive", "20x15", "1"), "got 15 in '20x15'; did you mean 0.15?\n"),
        (("stock", "receive", "20x0.15", "1,5"), "'1,5' is not a valid whole number of shims"),
        (("stock", "receive", "20x0.15", "0"), "0 is not in the range"),
        (("stock", "receive", "20x0.15", "1", "--hole", "99"), "--hole: got 99; expected 3 to 30 mm"),
        (("stock", "scrap", "20x0.14", "1"), "Did you mean 20x0.15"),
        (("stock", "scrap", "20x0.15", "999"), "20x0.15 (hole 8 mm): needs 999"),
        (("stock", "scrap", "nonsense", "1"), "a shim like '24x0.20'"),
        (("stock", "count"), "either TYPE and NUMBER, or --file FILE"),
        (("stock", "count", "20x0.15", "1", "--write"), "--write belongs to --file"),
        (("stock", "import", "none.csv"), "no such file"),
        (("stock", "list", "--shop", "nowhere"), "there is no ledger here"),
        (("stock", "import", "shelf.csv", "--write", "--shop", "nowhere"), "no such folder"),
        (("stock", "receive", "20x0.15", "1", "--reason", " "), "got nothing, expected why"),
        (
            ("stock", "receive", "20x0.15", "1", "--reason", "b\udcff"),
            "the terminal sent bytes that are none",
        ),
        (("person", "show", "b\udcff"), "the terminal sent bytes that are none"),
        (("undo", "9" * 30), "is not in the range"),
        (("stock", "receive", "nanx0.15", "1"), "expected a shim like '24x0.20'"),
        (("stock", "receive", "20x0.15", "1", "--hole", "nan"), "--hole: got nan"),
        (("done", "nobody"), "not in the ledger"),
        (("release", "nobody"), "not in the ledger"),
        (("outcome", "nobody", "words"), "not in the ledger"),
        (("undo", "99"), "step 99: not there"),
        (("backup", "shelf.csv"), "a backup never overwrites one"),
        (("backup", "no/folder/copy"), "the folder no/folder is not there"),
        (("person", "show", "Nobody"), "not in the ledger"),
        (("person", "erase", "Nobody", "--yes"), "not in the ledger"),
        (("build", "none.toml"), "no such file"),
    ],
)
@pytest.mark.usefixtures("shop")
def test_what_cannot_be_done_is_said_with_the_way_out_and_changes_nothing(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], says: str
) -> None:
    before = run("stock", "export"), run("undo", "--list")
    assert says in refused(capsys, monkeypatch, *words)
    assert (run("stock", "export"), run("undo", "--list")) == before


@pytest.mark.usefixtures("shop")
def test_tables_fit_and_low_types_are_marked() -> None:
    run("stock", "count", "20x0.15", "2")
    low = run("stock", "list", "--low")
    assert "LOW" in low
    assert "20x0.15" in low
    assert "20x0.15" in run("stock", "reorder")
    assert all(len(line) <= 100 for line in run("stock", "list").splitlines())
    assert json.loads(run("stock", "where", "--json"))["places"] == []


@pytest.mark.parametrize(
    "words",
    [
        ("stock", name, "--help")
        for name in ("import", "export", "list", "receive", "count", "scrap", "where", "reorder")
    ]
    + [("person", name, "--help") for name in ("show", "export", "erase")],
)
def test_every_step_has_help_with_an_example_and_speaks_json(words: tuple[str, str, str]) -> None:
    result = CliRunner().invoke(cli, words)
    assert f"Example: shimwright {words[0]} {words[1]}" in result.output
    assert "--json" in result.output


@pytest.mark.usefixtures("planner")
def test_a_sheet_that_cannot_be_written_is_said_before_anything_is_reserved(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = everything(shop / "shimwright.ledger")
    said = refused(capsys, monkeypatch, "build", JOB, "--sheet", "no/such/folder/sheet.html")
    assert "cannot be written (No such file or directory)" in said
    assert everything(shop / "shimwright.ledger") == before


@pytest.mark.usefixtures("planner")
def test_a_sheet_without_room_is_said_before_anything_is_reserved(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = everything(shop / "shimwright.ledger")
    monkeypatch.setattr(build_command, "_sheet", lambda *_: "x" * 300_000)
    with largest_file(200_000):
        said = refused(capsys, monkeypatch, "build", JOB)
    assert "what was there is as it was" in said
    assert everything(shop / "shimwright.ledger") == before
    assert not Path("jobs/a_more_support.html").exists()


@pytest.mark.usefixtures("planner")
def test_a_sheet_that_gets_no_name_at_the_end_is_said_with_what_is_reserved(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def taken_away(self: Draft) -> None:
        raise InputError("jobs/a_more_support.html: cannot be written (Input/output error).")

    with monkeypatch.context() as patch:
        patch.setattr(Draft, "put", taken_away)
        said = refused(capsys, patch, "build", JOB)
    assert "Candidate 1 is reserved for a_more_support, but its sheet is not written" in said
    assert "othing was changed" not in said
    assert on_shelf(11.0, 0.1)[1] == 1
    assert "Still reserved" in run("build", JOB)
    assert Path("jobs/a_more_support.html").read_text() == "<p>sheet</p>"


@pytest.mark.usefixtures("planner")
def test_a_build_that_is_refused_at_the_end_leaves_no_job_in_the_books(
    shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    run("stock", "count", "11x0.10", "0", "--hole", "8")
    before = everything(shop / "shimwright.ledger")
    assert "needs 1, 0 free" in refused(capsys, monkeypatch, "build", JOB)
    assert everything(shop / "shimwright.ledger") == before


@pytest.mark.parametrize(
    "words",
    [
        ("stock", "receive", "20x0.15", "3"),
        ("stock", "scrap", "20x0.15", "1"),
        ("outcome", "a_more_support", "better"),
        ("undo",),
    ],
)
@pytest.mark.usefixtures("planner")
def test_a_command_given_again_with_its_id_changes_nothing_more_and_says_so(
    shop: Path, words: tuple[str, ...]
) -> None:
    run("build", JOB)
    first = json.loads(run(*words, "--once", "mine", "--json"))
    before = everything(shop / "shimwright.ledger")
    again = json.loads(run(*words, "--once", "mine", "--json"))
    assert (first.pop("again"), again.pop("again")) == (False, True)
    assert first == again
    assert re.search(
        r"Done already, at .* UTC, as .*; nothing is done again\.", run(*words, "--once", "mine")
    )
    assert everything(shop / "shimwright.ledger") == before


@pytest.mark.usefixtures("shop")
def test_the_same_step_twice_in_a_moment_is_told_with_the_number_that_takes_it_back() -> None:
    assert "was the same" not in run("stock", "receive", "20x0.15", "3")
    assert "Step 2 at" in (said := run("stock", "receive", "20x0.15", "3"))
    assert "was the same, and both stand." in said
    assert "Wrong? shimwright undo 3" in said


def test_the_check_removes_what_a_killed_run_left_and_touches_no_other_file(shop: Path) -> None:
    died = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True
    )
    left = part_of(shop / "jobs" / "sheet.html")
    left = left.with_name(left.name.replace(f"-{os.getpid()}-", f"-{int(died.stdout)}-"))
    left.write_text("half")
    running = part_of(shop / "jobs" / "other.html")
    running.write_text("half")
    before = files_of(shop)
    assert f"Removed what a killed run left: {left.relative_to(shop)}" in run("check")
    before.pop(str(left.relative_to(shop)))
    assert files_of(shop) == before


@pytest.mark.usefixtures("planner")
def test_a_backup_is_restored_by_its_command_and_a_damaged_ledger_names_it(shop: Path) -> None:
    run("backup", "monday.backup")
    before = everything(shop / "shimwright.ledger")
    run("build", JOB)
    assert "The ledger is monday.backup again, checked; the last it holds is step 1 of" in run(
        "restore", "monday.backup"
    )
    assert everything(shop / "shimwright.ledger") == before
    Path("shimwright.ledger").write_bytes(b"")
    assert "shimwright restore BACKUP" in (said := run("check", code=1))
    assert "is empty (0 bytes), expected a ledger" in said
    document = json.loads(run("restore", "monday.backup", "--json"))
    assert document["last_step"] == 1
    assert Path(document["aside"]).read_bytes() == b""
    assert run("check").startswith("The ledger is well")


@pytest.mark.usefixtures("planner")
def test_an_erasure_lists_first_where_the_name_stands_and_asks(shop: Path) -> None:
    run("build", JOB)
    run("release", "a_more_support")
    another_rider()
    Path("jobs/other.toml").write_text(
        Path("jobs/other.toml").read_text().replace('title = "', 'title = "As Ines has it: ')
    )
    run("build", "jobs/other.toml")
    asked = CliRunner().invoke(cli, ["person", "erase", "Ines"], input="n\n")
    assert "Ines also stands here, in the records of others:" in asked.output
    assert "job other: title" in asked.output
    assert json.loads(run("person", "export", "Ines"))["name"] == "Ines"
    told = run("person", "erase", "Ines", "--yes")
    assert "The name still stands here, in the records of others:\n  job other: title" in told
    assert "person mentions 'Ines' --redact" in told
    assert "job other: title" in run("person", "mentions", "Ines")
    assert "Ines stands nowhere in the ledger" in run("person", "mentions", "Ines", "--redact")
