"""``shimwright dyno`` as a tuner types it: what it prints, in whose units, and what it writes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimiser.documents.dyno import DynoDocument
from optimiser.files.damper_builder import read_damper
from tests.helpers.command_line import Typed
from tests.helpers.dyno_twins import Setting, Traits, gas_of, recording, recording_text, table_run, table_text

TRAITS = Traits(rate=200.0, warming=0.0)


@pytest.fixture
def session(shop: Path) -> Path:
    """A slow and a faster run of the shop's shock, with a slip in the force's sign."""
    damper = read_damper(shop / "dampers" / "tarn_shock.toml").damper
    traits = Traits(rate=200.0, warming=0.0, force_sign=-1.0)
    setting = Setting(clicks={"rebound": 7})
    (shop / "dyno").mkdir()
    runs = [
        recording(damper, speed=speed, cycles=8, traits=traits, setting=setting) for speed in (0.02, 0.26)
    ]
    words = ["rebound clicks: 7", "temperature: 40 C", "gas pressure: 25 bar"]
    text = "\n".join(recording_text(run, about=words) for run in runs)
    (shop / "dyno" / "session.csv").write_text(text, encoding="utf-8")
    return shop / "dyno" / "session.csv"


def test_it_says_what_it_derived_what_it_dropped_and_shows_the_points(session: Path, typed: Typed) -> None:
    seen = typed("dyno", "dyno/session.csv", "--damper", "dampers/tarn_shock.toml")
    assert (seen.code, seen.err) == (0, "")
    said = " ".join(seen.out.split())
    assert "columns guessed from their words" in said
    assert "turned round: force" in said
    assert "200 samples a second, from the time column." in said
    assert "dropped for warming" in said
    assert "N are taken off, give or take" in said
    assert "rebound 7 out, 40 °C, gas 25 bar, stroke 38.10 mm" in said
    assert "compression: force, N, against shaft velocity, m/s" in seen.out
    assert "Damping force against the motion at the peak, N" in said
    assert "off the peak, N" not in said
    assert "Tarn 55 trail shock, its file, rebound 7 out" in said


def test_branches_are_listed_when_asked_for(session: Path, typed: Typed) -> None:
    seen = typed("dyno", "dyno/session.csv", "--branches")
    assert "Damping force against the motion off the peak, N" in " ".join(seen.out.split())
    assert "speeding up" in seen.out


def test_imperial_readers_get_inches_pounds_and_fahrenheit(session: Path, typed: Typed) -> None:
    seen = typed("dyno", "dyno/session.csv", "--units", "imperial")
    said = " ".join(seen.out.split())
    assert "104 °F, gas 363 psi, stroke 1.4998 in" in said or "104 °F, gas 363 psi, stroke 1.5000 in" in said
    assert "force, lbf, against shaft velocity, in/s" in said
    assert "lbf are taken off" in said
    assert " N are" not in said


def test_the_document_holds_the_points_and_what_was_split_off(
    session: Path, typed: Typed, shop: Path
) -> None:
    seen = typed("dyno", "dyno/session.csv", "--json")
    document = DynoDocument.model_validate(json.loads(seen.out))
    damper = read_damper(shop / "dampers" / "tarn_shock.toml").damper
    slow, fast = document.runs
    assert fast.gas is not None
    assert abs(fast.gas.force_n - gas_of(damper)) < fast.gas.plus_minus_n
    assert fast.clicks_out == {"rebound": 7}
    assert {point.branch for point in fast.points} == {"peak", "speeding up", "slowing down"}
    assert [round(point.velocity_m_s, 2) for point in slow.points if point.branch == "peak"] == [-0.02, 0.02]


def test_nothing_is_written_unless_the_machine_is_to_be_remembered(
    session: Path, typed: Typed, shop: Path
) -> None:
    before = sorted(shop.rglob("*"))
    typed("dyno", "dyno/session.csv")
    assert sorted(shop.rglob("*")) == before
    seen = typed("dyno", "dyno/session.csv", "--remember", "rig")
    assert seen.out.rstrip().endswith("dyno_machines/rig.toml")
    again = typed("dyno", "dyno/session.csv")
    assert "as remembered of the machine 'rig'" in " ".join(again.out.split())


def test_a_foreign_header_is_named_once_and_known_from_then_on(shop: Path, typed: Typed) -> None:
    damper = read_damper(shop / "dampers" / "tarn_shock.toml").damper
    layout = {"time": ("Zeit", 1e-3), "displacement": ("Weg", 1e-3), "force": ("Kraft", 1.0)}
    text = recording_text(recording(damper, speed=0.26, cycles=6, traits=TRAITS), layout=layout)
    (shop / "run.csv").write_text(text, encoding="utf-8")
    refused = typed("dyno", "run.csv")
    assert refused.code == 2
    assert "--column" in refused.err
    columns = [
        word
        for column in ("time=Zeit:ms", "displacement=Weg:mm", "force=Kraft:N")
        for word in ("--column", column)
    ]
    assert typed("dyno", "run.csv", *columns, "--remember", "hall").code == 0
    assert typed("dyno", "run.csv").code == 0


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("--column", "force"), "expected what it holds, its header and its unit"),
        (("--column", "weight=Load:N"), "it holds one of time, displacement"),
        (("--column", "force=Load:stone"), "expected a unit of force"),
        (("--clicks", "7"), "as 'rebound clicks: 7'"),
        (("--temperature", "40"), "without a scale"),
        (("--gas-pressure", "14"), "without its unit"),
        (("--mid-stroke", "far"), "--mid-stroke: got 'far', expected a length"),
        (("--gas-force", "12 mm"), "--gas-force: got '12 mm', expected a force"),
        (("--machine", "none such"), "--machine: got 'none such'"),
        (("--compression", "negative", "--compression-force", "negative", "--damper", "nothing.toml"), "nothing.toml"),
        (("--compression", "positive", "--compression-force", "positive"), "hand out power"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_with_the_way_out(
    words: tuple[str, ...], reason: str, session: Path, typed: Typed
) -> None:
    seen = typed("dyno", "dyno/session.csv", *words)
    assert seen.code == 2
    assert reason in seen.err
    assert seen.out == ""


def test_every_option_goes_before_what_is_derived(session: Path, typed: Typed) -> None:
    seen = typed(
        "dyno", "dyno/session.csv", "--json", "--warm-up", "3", "--gas-force", "200 N", "--friction", "15 N", "--clicks",
        "rebound=2", "--temperature", "86 F", "--gas-pressure", "300 psi", "--stroke", "38 mm", "--sample-rate", "200",
        "--mid-stroke", "1 mm",
    )  # fmt: skip
    document = DynoDocument.model_validate(json.loads(seen.out))
    for run in document.runs:
        assert run.gas is not None
        assert run.friction is not None
        assert (run.gas.force_n, run.friction.force_n) == (200.0, 15.0)
        assert (run.clicks_out, run.temperature_c, run.stroke_mm) == ({"rebound": 2}, 30.0, 38.0)
        assert any("the first 3 cycles are dropped as you say" in note for note in run.notes)
        assert "200 samples a second, as you say." in run.notes
        assert "The force is read at the displacement that you say." in run.notes


def test_a_table_in_pounds_that_holds_newtons_is_noticed_beside_the_damper(shop: Path, typed: Typed) -> None:
    damper = read_damper(shop / "dampers" / "tarn_shock.toml").damper
    text = table_text(table_run(damper)).replace("(N)", "(lbf)")
    (shop / "run.csv").write_text(text, encoding="utf-8")
    seen = typed("dyno", "run.csv", "--damper", "dampers/tarn_shock.toml")
    assert "times what the damper's file gives" in " ".join(seen.out.split())
    right = typed("dyno", "run.csv", "--damper", "dampers/tarn_shock.toml", "--column", "force=Force (lbf):N")
    assert "times what the damper's file gives" not in " ".join(right.out.split())


def test_strokes_that_the_figures_cannot_tell_apart_are_told_apart_by_the_damper(
    shop: Path, typed: Typed
) -> None:
    damper = read_damper(shop / "dampers" / "tarn_shock.toml").damper
    twin = recording(damper, speed=0.26, cycles=6, motion="ramp", traits=Traits(rate=200.0, travel_sign=-1.0))
    (shop / "run.csv").write_text(recording_text(twin), encoding="utf-8")
    words = ("dyno", "run.csv", "--damper", "dampers/tarn_shock.toml")
    assert "With compression and rebound swapped" in " ".join(typed(*words).out.split())
    assert "rebound swapped" not in " ".join(typed(*words, "--compression", "negative").out.split())
