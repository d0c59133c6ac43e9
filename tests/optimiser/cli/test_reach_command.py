"""How far each band goes, as a tuner types it."""

import json
import re
import sys
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pexpect
import pytest

from optimiser.documents.reach import ReachDocument
from tests.helpers.command_line import Typed
from tests.helpers.counts import thorough_only

JOB = "jobs/a_more_support.toml"


@thorough_only("proves eight ends; a quick run tries the reach itself on small jobs")
def test_one_change_of_a_job_is_proven_on_both_sides_and_drawn(shop: Path, typed: Typed) -> None:
    seen = typed("reach", JOB, "--changes", "1", "--json", "--picture", "reach.svg")
    assert seen.code == 0
    found = ReachDocument.model_validate_json(seen.out)
    assert found.status == "proven"
    assert [(band.name, band.wanted_percent) for band in found.bands] == [
        ("low-speed support", 7.0),
        ("square edges", None),
    ]
    for band in found.bands:
        clicks, one = band.extents
        assert (clicks.changes, one.changes) == (0, 1)
        assert clicks.least.number_of_changes == clicks.most.number_of_changes == 0
        assert one.least.shift_percent <= clicks.least.shift_percent <= 0
        assert one.most.shift_percent >= clicks.most.shift_percent >= 0
        assert one.most.number_of_changes == len(one.most.changes.put_in) == 1
        held = next(other for other in found.bands if other is not band)
        assert one.most.change_elsewhere_percent <= held.tolerance_percent
    assert found.bands[0].extents[0].most.adjusters != found.bands[0].extents[1].most.adjusters
    # the plan of this job has stacks with one change that reach +7 % within 2.5 %
    assert found.bands[0].extents[1].most.shift_percent > 4.5
    drawn = ET.fromstring((shop / "reach.svg").read_text(encoding="utf-8"))  # noqa: S314 (our own file)
    words = " ".join(element.text or "" for element in drawn.iter())
    assert drawn.tag.endswith("svg")
    for expected in ("low-speed support", "square edges", "clickers only", "1 change", "wanted"):
        assert expected in words
    assert "not proven" not in words
    assert found.picture == "reach.svg"
    assert list(shop.glob(".reach*")) == []


def test_a_time_limit_leaves_ends_that_are_marked_in_table_and_picture(shop: Path, typed: Typed) -> None:
    seen = typed("reach", JOB, "--changes", "1", "--time-limit", "0.1", "--picture", "reach.svg")
    assert seen.code == 0
    rows = [line.split("  ") for line in seen.out.splitlines() if " proven" in line]
    marks = [cell.strip() for row in rows for cell in row if cell.strip() in {"proven", "not proven"}]
    assert marks == ["proven", "proven", "not proven", "not proven"] * 2
    assert "The time limit ended it: ends that are not proven may lie further out." in seen.out
    assert "tip: not proven" in (shop / "reach.svg").read_text(encoding="utf-8")
    assert json.loads(typed("reach", JOB, "--changes", "1", "--time-limit", "0.1", "--json").out)[
        "status"
    ] == ("best so far")


def test_clicks_alone_are_read_in_clicks_and_in_the_units_asked_for(shop: Path, typed: Typed) -> None:
    out = typed("reach", JOB, "--changes", "0", "--units", "imperial").out
    head = "low-speed support (target, compression, 2.36 to 4.72 in/s, 91.3 lbf on average; wanted +7.0 %)"
    assert head in " ".join(out.split())
    assert "low-speed compression 5 out" in out
    assert "nothing: as it is" in out
    assert re.findall(r"(down|up) to +[−+0]", out) == ["down", "up"] * 2
    assert "not proven" not in out
    assert (
        "The +7.0 % that is wanted lies beyond it. What would do, this line says: "
        "shimwright plan jobs/a_more_support.toml"
    ) in " ".join(out.split())


def test_basics_out_of_range_are_said_first_and_stop_nothing(shop: Path, typed: Typed) -> None:
    seen = typed("reach", "jobs/c_sag_first.toml", "--changes", "0")
    assert seen.code == 0
    assert seen.out.index("First: sag, rear") < seen.out.index("clickers only")
    assert json.loads(typed("reach", "jobs/c_sag_first.toml", "--changes", "0", "--json").out)["findings"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((JOB, "--changes", "5"), "5 is not in the range 0<=x<=4"),
        ((JOB, "--time-limit", "-1"), "-1.0 is not in the range x>=0"),
        ((JOB, "--picture", "reach.png"), "--picture: got reach.png, expected a name that ends in .svg."),
        (
            (JOB, "--picture", "none/reach.svg"),
            "--picture: got none/reach.svg, expected a folder that is there.",
        ),
        (("jobs/none.toml",), "jobs/none.toml: no such file; expected a job file."),
    ],
    ids=lambda value: value[-1] if isinstance(value, tuple) else "",
)
def test_what_cannot_be_used_is_refused_before_any_work(
    words: Any, message: str, shop: Path, typed: Typed
) -> None:
    before = sorted(shop.rglob("*"))
    seen = typed("reach", *words)
    assert seen.code == 2
    assert message in seen.err
    assert seen.out == ""
    assert sorted(shop.rglob("*")) == before


def test_ctrl_c_gives_what_stands(shop: Path) -> None:
    """Through a real terminal: progress is seen, and after Ctrl-C the document is whole."""
    line = (
        f'exec "{sys.executable}" -c "from optimiser.cli import main; main()" reach {JOB} --json > reach.json'
    )
    child = pexpect.spawn("/bin/sh", ["-c", line], cwd=str(shop), timeout=120, dimensions=(24, 160))
    child.expect("families closed")
    child.sendintr()
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    found = ReachDocument.model_validate_json((shop / "reach.json").read_text(encoding="utf-8"))
    assert found.status == "interrupted"
    assert len(found.bands) == 2
    for band in found.bands:
        assert [extent.changes for extent in band.extents] == [0, 1, 2]
        assert band.extents[0].most.proven
        assert not band.extents[2].most.proven
