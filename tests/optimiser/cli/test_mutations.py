"""Ten thousand spoiled files of every kind: each is read or refused in words, in time, and never a traceback."""

from __future__ import annotations

import contextlib
import io
import json
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import optimiser.intake
from damping_model.damper.force import force_curve
from damping_model.errors import ModelError
from optimiser.cli import main
from optimiser.documents.plan_reader import read_plan
from optimiser.errors import ShimwrightError
from optimiser.files.base import read_text
from optimiser.files.catalogue import read_catalogue
from optimiser.files.dyno.columns import guessed
from optimiser.files.dyno.machine_file import remember
from optimiser.files.job_reader import read_job
from optimiser.files.ride_log.log_columns import LogColumn
from optimiser.files.ride_log.logger_file import remember as remember_logger
from optimiser.jobs.noticed import noticed_in
from tests.helpers.counts import tries
from tests.helpers.dyno_mangled import TARN
from tests.helpers.dyno_twins import Traits, recording, recording_text, table_run, table_text
from tests.helpers.mutations import mutated
from tests.helpers.paths import ROOT
from tests.helpers.random_dampers import random_damper

LONGEST: float = 10.0
"""What one file may take without a sign of life. [s]"""

ANSWERS = """title = "Trail bike: wallows"
rider = "../riders/ines.toml"
bike = "../bikes/oxlip_trail.toml"
damper = "../dampers/tarn_shock.toml"
shelf = "../shelf.csv"
"sag front" = "30 mm"
"tyre front" = "1,6"
"play front" = "no"
"leaks front" = "n"
"sag rear" = "15 mm shaft"
hours = "40"
words = "it wallows"
symptom = "wallows in long turns"
band = "0.06 to 0.20"
stroke = "compression"
shift = "8"
familiarity = "30"
stack = "compression stack"
changes = "3"
"""
"""Answers to every kind of question, which end in a job."""

TUNES = ("tunes", "--bike", "bikes/oxlip_trail.toml", "--rider", "riders/ines.toml", "--corner", "rear")

COMMANDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "damper": ("dampers/tarn_shock.toml", ("curve", "dampers/tarn_shock.toml", "--to", "0.3")),
    "stack": (
        "dampers/tarn_shock.toml",
        ("lift", "dampers/tarn_shock.toml", "--stack", "compression stack", "--to", "5"),
    ),
    "bike": ("bikes/oxlip_trail.toml", ("leverage", "bikes/oxlip_trail.toml", "--corner", "rear")),
    "rider": ("riders/ines.toml", TUNES),
    "tune": ("tunes/maren_oxlip.toml", TUNES),
    "shelf": ("shelf.csv", ("stock", "import", "shelf.csv")),
    "reference": ("mine.json", ("verify", "mine.json")),
    "dyno table": ("dyno/table.csv", ("dyno", "dyno/table.csv")),
    "dyno recording": ("dyno/sine.csv", ("dyno", "dyno/sine.csv", "--branches")),
    "dyno machine": ("dyno_machines/rig.toml", ("dyno", "dyno/sine.csv", "--machine", "rig")),
    "ride log": ("logs/ride.csv", ("log", "logs/ride.csv", "--bike", "bikes/oxlip_trail.toml")),
    "logger": ("loggers/pot.toml", ("log", "logs/ride.csv", "--logger", "pot")),
    "answers": ("answers.toml", ("intake", "jobs/new.toml", "--answers", "answers.toml")),
}
"""Kinds of file that a command reads without a long search: the file, and what is typed."""


def noticed(path: Path) -> None:
    noticed_in(read_job(path))


READERS: dict[str, tuple[str, str, Callable[[Path], object]]] = {
    "job": ("jobs/a_more_support.toml", "jobs/a_more_support.toml", noticed),
    "job in words": ("jobs/b_clicks_do.toml", "jobs/b_clicks_do.toml", noticed),
    "job of another frame": ("jobs/f_another_frame.toml", "jobs/f_another_frame.toml", noticed),
    "symptoms": ("symptoms.toml", "jobs/b_clicks_do.toml", noticed),
    "catalogue": ("catalogue.csv", "catalogue.csv", read_catalogue),
    "plan": ("plan.json", "plan.json", lambda path: read_plan(read_text(path, what="plan"), name=str(path))),
}
"""Kinds that only searches read: the file that is spoiled, the one that is read, and how."""

EACH = tries(quick=12, thorough=530)
"""Of each of nineteen kinds: ten thousand in a thorough run."""


@pytest.fixture
def whole_shop(shop: Path) -> Path:
    """The stiff shop with a file of every kind."""
    cases = json.loads((ROOT / "tests" / "reference" / "fe_cases.json").read_text(encoding="utf-8"))["cases"]
    (shop / "mine.json").write_text(json.dumps({"cases": cases[:1]}, indent=1), encoding="utf-8")
    (shop / "answers.toml").write_text(ANSWERS, encoding="utf-8")
    twin = recording(TARN, speed=0.26, cycles=5, traits=Traits(rate=100.0))
    columns = tuple(map(guessed, ("Time (s)", "Displacement (mm)", "Force (N)")))
    (shop / "dyno").mkdir()
    (shop / "dyno" / "sine.csv").write_text(
        recording_text(twin, about=["rebound clicks: 7"]), encoding="utf-8"
    )
    (shop / "dyno" / "table.csv").write_text(table_text(table_run(TARN)), encoding="utf-8")
    remember(shop / "dyno" / "sine.csv", "rig", [column for column in columns if column is not None])
    (shop / "logs").mkdir()
    demo = (ROOT / "inventory_demo" / "logs" / "oxlip_trail.csv").read_text(encoding="utf-8")
    ride = "\n".join(demo.splitlines()[:900]) + "\n"
    (shop / "logs" / "ride.csv").write_text(ride, encoding="utf-8")
    remember_logger(
        shop / "logs" / "ride.csv",
        "pot",
        [LogColumn("Time (s)", "", unit="s"), LogColumn("Rear travel (mm)", "rear", unit="mm")],
    )
    table = Path(optimiser.intake.__file__).with_name("symptoms.toml")
    (shop / "symptoms.toml").write_bytes(table.read_bytes())
    return shop


def ended(words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> tuple[object, str]:
    """Exit code of a command and what it said to stderr."""
    monkeypatch.setattr(sys, "argv", ["shimwright", *words])
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), pytest.raises(SystemExit) as left:
        main()
    return left.value.code, err.getvalue()


@pytest.mark.timeout(3600)
@pytest.mark.parametrize("kind", COMMANDS)
def test_a_command_reads_a_spoiled_file_or_refuses_it_in_words(
    kind: str, whole_shop: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    file, words = COMMANDS[kind]
    place, codes = whole_shop / file, []
    assert ended(words, monkeypatch) == (0, ""), kind
    (whole_shop / "jobs" / "new.toml").unlink(missing_ok=True)
    data = place.read_bytes()
    for number in range(EACH):
        place.write_bytes(mutated(data, random.Random(f"{kind} {number}")))
        begun = time.process_time()
        code, said = ended(words, monkeypatch)
        assert time.process_time() - begun < LONGEST, (kind, number)
        assert code in {0, 1, 2}, (kind, number, said)
        assert bool(said) >= (code == 2), (kind, number)
        assert "Traceback" not in said
        codes.append(code)
        (whole_shop / "jobs" / "new.toml").unlink(missing_ok=True)
    assert 2 in codes


def test_leverage_points_on_top_of_each_other_are_refused_by_their_place(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, words = COMMANDS["bike"]
    text = (shop / file).read_text(encoding="utf-8")
    assert "[35, 2.72]" in text
    (shop / file).write_text(text.replace("[35, 2.72]", "[1e-300, 2.72]"), encoding="utf-8")
    code, said = ended(words, monkeypatch)
    assert code == 2
    assert "got two leverage points less than 0.001 mm of wheel travel apart, at 1e-300 mm" in said


@pytest.mark.timeout(3600)
@pytest.mark.parametrize("kind", READERS)
def test_a_reader_reads_a_spoiled_file_or_refuses_it_in_words(
    kind: str, whole_shop: Path, monkeypatch: pytest.MonkeyPatch, plans_once: None
) -> None:
    if kind == "plan":
        monkeypatch.setattr(sys, "argv", ["shimwright", "plan", "jobs/b_clicks_do.toml", "--json"])
        out = io.StringIO()
        with contextlib.redirect_stdout(out), pytest.raises(SystemExit):
            main()
        (whole_shop / "plan.json").write_text(out.getvalue(), encoding="utf-8")
    file, read, reader = READERS[kind]
    place, refused = whole_shop / file, 0
    data = place.read_bytes()
    for number in range(EACH):
        place.write_bytes(mutated(data, random.Random(f"{kind} {number}")))
        begun = time.process_time()
        try:
            reader(whole_shop / read)
        except (ShimwrightError, ModelError):
            refused += 1
        assert time.process_time() - begun < LONGEST, (kind, number)
    assert refused


@pytest.mark.timeout(3600)
def test_a_damper_drawn_at_random_has_a_curve_or_a_reason_for_none() -> None:
    speeds = np.array([-1.0, -0.1, 0.1, 1.0])
    for seed in range(tries(quick=8, thorough=2000)):
        begun = time.process_time()
        try:
            forces = force_curve(random_damper(seed), velocities=speeds).damping_force
        except ModelError:
            forces = np.zeros(1)
        assert np.isfinite(forces).all(), seed
        assert time.process_time() - begun < LONGEST, seed
