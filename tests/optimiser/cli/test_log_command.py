"""``shimwright log`` as a tuner types it: what it prints, in whose units, what it writes, what it refuses."""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path

import pytest

from optimiser.documents.ride_log import RideLogDocument
from optimiser.files.complaint_section import ComplaintSection
from optimiser.files.job_reader import read_job
from optimiser.ledger.connection import Ledger
from optimiser.ledger.job_record import job_record
from optimiser.ledger.jobs import record_job
from optimiser.ledger.ride_predictions import recorded_rides
from tests.helpers.command_line import Typed
from tests.helpers.paths import DEMO

BIKE = ("--bike", "bikes/oxlip_trail.toml")
LOG = ("log", "logs/oxlip_trail.csv", *BIKE)


@pytest.fixture
def logs(shop: Path) -> Path:
    """The demo's logs in the stiff shop, whose bike is the demo's."""
    shutil.copytree(DEMO / "logs", shop / "logs")
    shutil.copy(DEMO / "bikes" / "oxlip_trail.toml", shop / "bikes" / "oxlip_trail.toml")
    return shop / "logs"


def test_it_says_what_it_derived_and_shows_shares_events_and_the_moment(logs: Path, typed: Typed) -> None:
    seen = typed(*LOG, "--corner", "rear", "--from", "6.2", "--to", "6.9")
    assert (seen.code, seen.err) == (0, "")
    said = " ".join(seen.out.split())
    assert "columns guessed from their words" in said
    assert "100 samples a second, from the time column." in said
    assert "In the air the logger reads 2." in said
    assert "Filtered at 40 Hz" in said
    assert "Share of time by shaft velocity" in said
    assert "end-of-travel hit" in said
    assert "compression, four fifths of the work at 0.0" in said
    assert "front:" not in said


def test_what_it_prints_for_a_job_is_a_complaint_that_jobs_take(logs: Path, typed: Typed) -> None:
    seen = typed(*LOG, "--corner", "rear", "--from", "6.2", "--to", "6.9")
    lines = seen.out.partition("For a job:\n")[2]
    complaint = ComplaintSection.model_validate(tomllib.loads(lines)["complaint"]).complaint()
    moment = _document(typed(*LOG, "--from", "6.2", "--to", "6.9", "--json").out).wheels[1].moment
    assert moment is not None
    assert (complaint.corner, complaint.stroke) == ("rear", "compression")
    assert (complaint.low, complaint.high) == (moment.from_m_s, moment.to_m_s)
    assert 0.02 < moment.from_m_s < moment.to_m_s < 0.15


def _document(text: str) -> RideLogDocument:
    return RideLogDocument.model_validate(json.loads(text))


def test_programs_get_the_documented_keys(logs: Path, typed: Typed) -> None:
    document = _document(typed(*LOG, "--json").out)
    front, rear = document.wheels
    assert (front.corner, rear.corner) == ("front", "rear")
    assert sum(one.time_percent for one in rear.shares) == pytest.approx(100, abs=0.01)
    assert sum(map(sum, rear.density.time_percent)) == pytest.approx(100, abs=0.1)
    assert {one.kind for one in rear.events} >= {"landing", "rollers", "dive", "end-of-travel hit"}
    assert (rear.moment, rear.over, rear.predicted, document.picture) == (None, None, None, None)


def test_a_run_is_laid_over_another_whose_travel_is_in_per_cent(logs: Path, typed: Typed) -> None:
    seen = typed(*LOG, "--over", "logs/oxlip_after.csv", "--json")
    front, rear = _document(seen.out).wheels
    assert front.over is None
    assert rear.over is not None
    assert rear.over.in_time is not None
    assert rear.over.in_time.correlation > 0.9
    low = next(one for one in rear.over.shares if (one.band, one.stroke) == ("low", "compression"))
    assert low.run_percent > low.other_percent
    said = " ".join(typed(*LOG, "--over", "logs/oxlip_after.csv").out.split())
    assert "Share of time beside the other run" in said
    assert "compression of the other run" in said


def test_how_far_a_prediction_was_off_goes_to_the_record_of_its_job(
    logs: Path, typed: Typed, shop: Path
) -> None:
    job = next(iter(sorted((shop / "jobs").glob("*.toml"))))
    typed("stock", "import", "shelf.csv", "--write")
    with Ledger.open(shop) as ledger:
        record_job(ledger, job_record(read_job(job)))
    words = (*LOG, "--corner", "rear", "--predicted", "logs/oxlip_after.csv", "--record", job.stem)
    first = typed(*words)
    assert first.code == 0, first.err
    assert f"Written to the record of {job.stem}. Rides recorded: 1." in " ".join(first.out.split())
    assert "Rides recorded: 1." in " ".join(typed(*words).out.split())
    with Ledger.open(shop) as ledger:
        (ride,) = recorded_rides(ledger)
    (wheel,) = ride.wheels
    assert (ride.job, wheel.corner) == (job.stem, "rear")
    assert 0.003 < wheel.travel < 0.02


def test_a_picture_is_drawn_with_the_words_on_it(logs: Path, typed: Typed, tmp_path: Path) -> None:
    words = ("--corner", "rear", "--from", "6.2", "--to", "6.9", "--svg", tmp_path / "ride.svg")
    seen = typed(*LOG, *words)
    assert seen.code == 0
    drawn = (tmp_path / "ride.svg").read_text(encoding="utf-8")
    for said in ("share of time faster, %", "wheel travel, mm", "shaft velocity, m/s", "dive", ">mid<"):
        assert said in drawn
    assert "mathdefault" not in drawn


def test_columns_are_named_once_and_remembered(logs: Path, typed: Typed, shop: Path) -> None:
    text = (logs / "oxlip_trail.csv").read_text(encoding="utf-8").replace("Rear travel (mm)", "Kanal 2")
    (logs / "own.csv").write_text(text.replace("Front travel (mm)", "Kanal 1"), encoding="utf-8")
    assert "names a wheel's travel" in typed("log", "logs/own.csv", *BIKE).err
    named = (
        "--column",
        "rear=Kanal 2:V",
        "--calibrate",
        "rear=0:0 mm, 100:100 mm",
        "--column",
        "time=Time (s):s",
    )
    first = typed("log", "logs/own.csv", *BIKE, *named, "--remember", "pot", "--json")
    assert first.code == 0, first.err
    assert first.err.rstrip().endswith("loggers/pot.toml")
    again = typed("log", "logs/own.csv", *BIKE, "--json")
    assert _document(again.out).wheels == _document(first.out).wheels
    assert "as remembered of the logger 'pot'" in _document(again.out).notes[0]


def test_imperial_readers_get_inches(logs: Path, typed: Typed) -> None:
    said = " ".join(typed(*LOG, "--corner", "rear", "--units", "imperial").out.split())
    assert "in/s" in said
    assert "with the wheel at 3" in said
    assert "In the air the logger reads 0.1" in said
    assert " m/s" not in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--zero", "rear"), "--zero: got 'rear', expected a corner and its figures"),
        (("--zero", "left=3 mm"), "--zero: got the corner 'left', expected one of front, rear"),
        (("--corner", "left"), "--corner: got the corner 'left', expected one of front, rear"),
        (("--column", "rear"), "--column: got 'rear', expected time or a corner"),
        (("--column", "rear=X:bar"), "--column: got 'rear=X:bar', expected time or a corner"),
        (("--calibrate", "rear"), "--calibrate: got 'rear', expected a corner and its figures"),
        (("--from", "90", "--to", "91"), "expected one in the run"),
        (("--cut-off", "60"), "got a cut-off of 60 Hz, expected at most 40 Hz"),
        (("--record", "a"), "--record: got no --predicted"),
        (("--logger", "nobody"), "--logger: got 'nobody', expected a logger that this shop remembers: none"),
    ],
)  # fmt: skip
def test_a_slip_is_refused_with_the_way_out(
    words: tuple[str, ...], said: str, logs: Path, typed: Typed
) -> None:
    seen = typed(*LOG, *words)
    assert seen.code == 2
    assert said in " ".join(seen.err.split())


def test_without_a_machine_per_cent_is_refused_and_millimetres_are_read(logs: Path, typed: Typed) -> None:
    assert "Name the machine with --bike" in typed("log", "logs/oxlip_after.csv").err
    seen = typed("log", "logs/oxlip_trail.csv")
    assert "No machine is named" in " ".join(seen.out.split())
