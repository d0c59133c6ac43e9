"""Bad input ends in one message and exit code 2: no traceback, nothing written."""

from pathlib import Path

import pytest

from tests.helpers.command_line import Typed
from tests.helpers.paths import STIFF_SHOP


def snapshot(folder: Path) -> dict[Path, bytes]:
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


DAMPER, JOB, SHELF, BIKE = (
    "dampers/tarn_shock.toml",
    "jobs/a_more_support.toml",
    "shelf.csv",
    "bikes/oxlip_trail.toml",
)

TARN_STACK = (
    (STIFF_SHOP / DAMPER).read_text(encoding="utf-8").partition("shims = [\n")[2].partition(",\n]")[0]
)
"""The lines of its compression stack, from the piston."""

CASES = {
    "a file that is not there": (
        JOB,
        '"../dampers/tarn_shock.toml"',
        '"../dampers/tarn_shok.toml"',
        "dampers/tarn_shok.toml: no such file; expected a damper file. Did you mean dampers/tarn_shock.toml?",
    ),
    "a file named from the shop's folder": (
        JOB,
        '"../dampers/tarn_shock.toml"',
        '"dampers/tarn_shock.toml"',
        "jobs/a_more_support.toml: got the file 'dampers/tarn_shock.toml', expected its path from the folder of a_more_support.toml. Write '../dampers/tarn_shock.toml'.",
    ),
    "a stack listed from the nut": (
        DAMPER,
        TARN_STACK,
        ",\n".join(reversed(TARN_STACK.split(",\n"))),
        "stack 'compression stack': The shims stand in order from the nut, expected from the piston outwards, the face shim first. Turn the list round.",
    ),
    "a kind of machine that nobody knows": (
        BIKE,
        'kind = "mountain bike"',
        'kind = "enduro"',
        "jobs/a_more_support.toml: bike: ../bikes/oxlip_trail.toml: kind: got a machine of kind 'enduro', expected one of mountain bike, ",
    ),
    "a sag beyond the travel": (
        JOB,
        "[complaint]",
        '[[basics.corner]]\nname = "front"\nsag_mm = 480\n[complaint]',
        "jobs/a_more_support.toml: basics: front: got a sag of 480 mm, expected less than the travel of 150 mm.",
    ),
    "a file that is not TOML": (JOB, "title =", "title", "jobs/a_more_support.toml: not TOML: "),
    "an unknown key": (
        JOB,
        "most_changes",
        "most_change",
        "most_change: unknown key. Did you mean 'most_changes'?",
    ),
    "a thickness of 15 instead of 0.15": (
        DAMPER,
        '"15x0.15"',
        '"15x15"',
        "got 15 in '15x15'; did you mean 0.15?",
    ),
    "a negative count": (SHELF, "20,0.05,8,", "20,0.05,8,-", "shelf.csv:2: count"),
    "a fractional count": (SHELF, "20,0.05,8,", "20,0.05,8,1.5", "shelf.csv:2: count"),
    "a hole that does not fit the shaft": (
        DAMPER,
        '"15x0.15"',
        '"15x0.15 hole 6"',
        "stack 'compression stack': ",
    ),
    "a face shim that leaves a port open": (
        DAMPER,
        '"6 of 20x0.10"',
        '"6 of 14x0.10"',
        "stack 'compression stack': ",
    ),
    "a face shim that hits the bore": (
        DAMPER,
        '"6 of 20x0.10"',
        '"6 of 28x0.10"',
        "stack 'compression stack': ",
    ),
    "a target band inside a held band": (
        JOB,
        "from_m_s = 0.70",
        "from_m_s = 0.05",
        "lies inside held band 'square edges'",
    ),
    "a band in the wrong order": (
        JOB,
        "from_m_s = 0.06",
        "from_m_s = 0.50",
        "band 'low-speed support' to run from a lower to a higher velocity",
    ),
    "a leverage curve that runs backwards": (
        BIKE,
        "[35, 2.72], [70, 2.545]",
        "[70, 2.545], [35, 2.72]",
        "bikes/oxlip_trail.toml:",
    ),
    "more shims than the nut leaves room for": (
        DAMPER,
        '"9x0.30"',
        '"6 of 9x0.30"',
        "stack 'compression stack': ",
    ),
    "a number that is nan": (
        JOB,
        "shift_percent = 7.0",
        "shift_percent = nan",
        "got nan; expected: a finite number.",
    ),
    "a stack that is not there": (
        JOB,
        'stack = "compression stack"',
        'stack = "compresion stack"',
        "work.stack: got 'compresion stack', expected a stack of Tarn 55 trail shock. Did you mean 'compression stack'?",
    ),
    "a band beyond the boiling of oil": (
        DAMPER,
        "gas_pressure_bar = 25.0",
        "gas_pressure_bar = 2.0",
        "vapour pressure",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_plan_refuses_and_writes_nothing(case: str, shop: Path, typed: Typed) -> None:
    file, old, new, message = CASES[case]
    edit(shop / file, old, new)
    before = snapshot(shop)
    seen = typed("plan", JOB)
    assert seen.code == 2
    assert message in seen.err
    assert "Traceback" not in seen.err
    assert seen.out == ""
    assert snapshot(shop) == before


def test_a_symptom_that_nobody_knows_is_refused_with_its_file_and_key(shop: Path, typed: Typed) -> None:
    edit(
        shop / "jobs/e_one_instant.toml",
        'symptom = "uses all travel on landings"',
        'symptom = "gets loose when hot"',
    )
    seen = typed("plan", "jobs/e_one_instant.toml")
    assert seen.code == 2
    assert seen.err.startswith(
        "jobs/e_one_instant.toml: complaint.symptom: got symptom 'gets loose when hot', expected one from the "
        "shop's table. Known: 'dives on the brakes', "
    )


def test_an_empty_stack_is_refused(shop: Path, typed: Typed) -> None:
    path = shop / DAMPER
    text = path.read_text(encoding="utf-8")
    start = text.index("shims = [\n")
    path.write_text(text[:start] + "shims = [" + text[text.index("]", start) :], encoding="utf-8")
    seen = typed("plan", JOB)
    assert seen.code == 2
    assert "at least one shim; a stack without shims closes no port" in seen.err


@pytest.mark.parametrize("name", [JOB, DAMPER, SHELF])
def test_a_file_of_50_megabytes_is_refused(name: str, shop: Path, typed: Typed) -> None:
    with (shop / name).open("wb") as file:
        file.truncate(50_000_000)
    seen = typed("plan", JOB)
    assert seen.code == 2
    assert "5 MB" in seen.err
    assert "Check that this is the right file." in seen.err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("plan", "jobs/none.toml"), "jobs/none.toml: no such file; expected a job file."),
        (("curve", DAMPER, "--clicks", "rebund=3"), "--clicks: got 'rebund'"),
        (("curve", DAMPER, "--clicks", "rebound=99"), "expected positions from 0 to 14"),
        (
            ("curve", DAMPER, "--celsius", "hot"),
            "--celsius: got 'hot', expected temperatures from -30 to 150",
        ),
        (("curve", DAMPER, "--band", "low=0.2-0.1"), "expected a name and two rising speeds in m/s"),
        (("lift", DAMPER), "--stack: missing; expected one of 'compression stack', 'rebound stack'."),
        (("verify", "shelf.csv"), "shelf.csv"),
        (("demo", "."), "is there already and not empty; expected a new folder."),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_commands_refuse_what_they_cannot_use(
    words: tuple[str, ...], message: str, shop: Path, typed: Typed
) -> None:
    before = snapshot(shop)
    seen = typed(*words)
    assert seen.code == 2
    assert message in seen.err
    assert snapshot(shop) == before


@pytest.mark.parametrize(
    ("words", "code"), [(("curve", DAMPER, "--to", "0.2"), 0), (("plan", JOB, "--time-limit", "1"), 0)]
)
def test_what_is_unusual_in_a_damper_is_said_beside_the_answer(
    words: tuple[str, ...], code: int, shop: Path, typed: Typed
) -> None:
    edit(shop / DAMPER, "0.12, 0.16", "0.12, 0.12")
    seen = typed(*words)
    said = " ".join((seen.err + seen.out).split())
    assert "Mind: " in said
    assert "area_mm2 of 'low-speed compression': got 1 click that changes nothing, expected" in said
