"""Dyno files spoiled as machines, exports and people spoil them, each with what it was made of."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from damping_model.damper.damper import Damper
from optimiser.files.damper_builder import read_damper
from tests.helpers.dyno_twins import (
    PLAIN,
    Traits,
    TwinRecording,
    damping_law,
    gas_of,
    recording,
    recording_text,
    table_run,
    table_text,
)
from tests.helpers.paths import ROOT

TARN = read_damper(ROOT / "inventory_demo" / "dampers" / "tarn_shock.toml").damper
"""The demo's trail shock: gas, friction, more rebound than compression."""

QUIET = Traits(warming=0.0, stiffness=2e6)


@dataclass(frozen=True)
class Mangled:
    """A spoiled file.

    Parameters
    ----------
    name : what was done to it.
    text : its content.
    damper : whose run it was.
    beside : whether the slip can only be seen beside the damper's file.
    """

    name: str
    text: str
    damper: Damper
    beside: bool = False


def true_force(damper: Damper, velocity: float) -> float:
    """Force of the whole damper at a velocity, as the dyno should have it. [N]"""
    law = damping_law(damper, fastest=2.0)
    return float(law(np.array([velocity]))[0]) + gas_of(damper) + float(np.sign(velocity)) * damper.friction


def all_mangled() -> Iterator[Mangled]:
    """Every spoiled file, some hundred and fifty."""
    for name, text in _spoiled():
        yield Mangled(name, text, TARN)
    for name, text in _only_beside():
        yield Mangled(name, text, TARN, beside=True)


def _table() -> str:
    return table_text(table_run(TARN, traits=replace(QUIET, cycle_noise=0.001)))


def _semicolons() -> str:
    return table_text(table_run(TARN, traits=replace(QUIET, cycle_noise=0.001)), delimiter=";", decimal=",")


def _strokes_apart() -> str:
    run = table_run(TARN, traits=replace(QUIET, cycle_noise=0.001))
    rows = [
        (one.velocity, one.force, other.force)
        for one in run.points
        for other in run.points
        if one.velocity > 0 and other.velocity == -one.velocity
    ]
    return "velocity mm/s\tcompression force N\trebound force N\n" + "".join(
        f"{1000 * v:.1f}\t{c:.1f}\t{r:.1f}\n" for v, c, r in rows
    )


def _twin(speed: float = 0.13, cycles: int = 12, traits: Traits = QUIET, seed: int = 3) -> TwinRecording:
    return recording(TARN, speed=speed, cycles=cycles, traits=traits, seed=seed)


def _spoiled() -> Iterator[tuple[str, str]]:
    twin = _twin()
    sine = recording_text(twin)
    ramp = recording_text(recording(TARN, speed=0.26, cycles=12, motion="ramp", traits=QUIET))
    slow = recording_text(_twin(0.02, 8, replace(QUIET, rate=100.0)))
    bases = {
        "table": _table(),
        "semicolons": _semicolons(),
        "strokes apart": _strokes_apart(),
        "sine": sine,
        "ramp": ramp,
        "slow and fast": f"{slow}\n{sine}",
    }
    yield from bases.items()
    yield from _cut_off(bases)
    yield from _empty(sine)
    yield from _units(bases)
    yield from _swapped(bases)
    yield from _at_its_end(twin)
    yield from _wired(bases)
    yield from _clock(sine)
    yield from _cells(bases)
    yield from _no_damper(twin)


def _cut_off(bases: dict[str, str]) -> Iterator[tuple[str, str]]:
    rng = random.Random(7)
    for base, text in bases.items():
        for number in range(5):
            yield f"{base} cut off, {number}", text[: rng.randint(1, len(text) - 2)]
    lines = bases["table"].splitlines()
    last = lines[-1]
    for kept in range(1, len(last)):
        yield f"table cut off in its last figure after {kept}", "\n".join([*lines[:-1], last[:kept]])


def _empty(sine: str) -> Iterator[tuple[str, str]]:
    yield "empty", ""
    yield "blank lines", "\n \n\t\n"
    yield "header only", sine.splitlines()[0] + "\n"
    yield "words only", "# nothing\n# temperature: 40 C\n"
    yield "one row", "\n".join(sine.splitlines()[:2]) + "\n"
    yield "ten rows", "\n".join(sine.splitlines()[:11]) + "\n"
    yield "less than a stroke", "\n".join(sine.splitlines()[:120]) + "\n"
    yield "no header", "\n".join(sine.splitlines()[1:]) + "\n"
    yield "zero bytes", sine.replace(",", "\x00", 3)


def _units(bases: dict[str, str]) -> Iterator[tuple[str, str]]:
    for old, new in (
        ("mm", "m"), ("mm", "in"), ("mm", "cm"), ("(N)", "(kN)"), ("(s)", "(ms)"), ("(s)", "(us)"), ("(N)", "(furlong)"),
        ("(N)", ""), ("(mm)", ""), ("(s)", ""),
    ):  # fmt: skip
        yield f"sine {old} as {new or 'nothing'}", bases["sine"].replace(old, new, 1)
    yield "stroke named and contradicted", "# stroke: 38.1 mm\n" + bases["sine"].replace("(mm)", "(cm)")
    for old, new in (("m/s", "mm/s"), ("(N)", "(kN)"), ("m/s", "km/s"), ("(m/s)", ""), ("(N)", "")):
        yield f"table {old} as {new or 'nothing'}", bases["table"].replace(old, new, 1)
    yield "strokes apart, mm/s as m/s", bases["strokes apart"].replace("mm/s", "m/s")
    yield "strokes apart, mm/s as in/s", bases["strokes apart"].replace("mm/s", "in/s")


def _swapped(bases: dict[str, str]) -> Iterator[tuple[str, str]]:
    head = bases["sine"].splitlines()[0]
    rest = bases["sine"].partition("\n")[2]
    yield "displacement and force swapped", f"Time (s),Force (N),Displacement (mm)\n{rest}"
    yield "time and displacement swapped", f"Displacement (mm),Time (s),Force (N)\n{rest}"
    yield "time and force swapped", f"Force (N),Displacement (mm),Time (s)\n{rest}"
    yield "header moved by one", f"x,{head}\n{rest}"
    ramp = bases["ramp"].partition("\n")[2]
    yield "ramp, displacement and force swapped", f"Time (s),Force (N),Displacement (mm)\n{ramp}"
    yield "table swapped", bases["table"].replace("Velocity (m/s),Force (N)", "Force (N),Velocity (m/s)")
    yield (
        "table swapped, mm/s",
        bases["table"].replace("Velocity (m/s),Force (N)", "Force (N),Velocity (mm/s)"),
    )


def _at_its_end(twin: TwinRecording) -> Iterator[tuple[str, str]]:
    top, bottom = float(twin.force.max()), float(twin.force.min())
    for share in (0.5, 0.7, 0.9, 0.95):
        yield (
            f"cell at {share} in compression",
            recording_text(replace(twin, force=np.minimum(twin.force, share * top))),
        )
        yield (
            f"cell at {share} in rebound",
            recording_text(replace(twin, force=np.maximum(twin.force, share * bottom))),
        )
    rows = _table().splitlines()
    figures = [row.split(",") for row in rows if re.match(r"-?\d", row)]
    for end in (400.0, 800.0):
        held = [f"{v},{min(max(float(f), -end), end):.2f}" for v, f in figures]
        yield f"table, cell at {end:g} N", "\n".join(["Velocity (m/s),Force (N)", *held]) + "\n"


def _wired(bases: dict[str, str]) -> Iterator[tuple[str, str]]:
    for base in ("sine", "ramp", "slow and fast"):
        for force in (1.0, -1.0):
            for travel in (1.0, -1.0):
                yield f"{base} wired {force:+g} {travel:+g}", _rewired(bases[base], {1: travel, 2: force})
    for force in (1.0, -1.0):
        for velocity in (1.0, -1.0):
            yield f"table wired {force:+g} {velocity:+g}", _rewired(bases["table"], {0: velocity, 1: force})


def _rewired(text: str, signs: dict[int, float]) -> str:
    def row(line: str) -> str:
        cells = line.split(",")
        if not re.match(r"-?\d", line):
            return line
        return ",".join(f"{signs.get(place, 1.0) * float(cell):.5f}" for place, cell in enumerate(cells))

    return "\n".join(map(row, text.splitlines())) + "\n"


def _clock(sine: str) -> Iterator[tuple[str, str]]:
    head, *rows = sine.splitlines()
    swapped = [*rows[:400], rows[401], rows[400], *rows[402:]]
    yield "two rows the wrong way round", "\n".join([head, *swapped]) + "\n"
    yield "time all the way back", "\n".join([head, *rows[::-1]]) + "\n"
    yield "a piece twice", "\n".join([head, *rows[:600], *rows[500:]]) + "\n"
    yield "the whole twice", "\n".join([head, *rows, *rows]) + "\n"
    yield "time stands still", "\n".join([head, *(f"0.0,{row.partition(',')[2]}" for row in rows)]) + "\n"
    yield "a last row at the end of days", sine + "12345678901.0,0.0,200.0\n"
    yield "a first row before time", "\n".join([head, "-1e15,0.0,200.0", *rows]) + "\n"
    yield "a row twice", "\n".join([head, *rows[:300], *rows[299:]]) + "\n"
    for missing in (1, 5, 100, 1000):
        yield f"{missing} rows missing", "\n".join([head, *rows[:500], *rows[500 + missing :]]) + "\n"
    yield "every second row from the middle on", "\n".join([head, *rows[:1000], *rows[1000::2]]) + "\n"
    yield "time to a millisecond", "\n".join([head, *(_rounded_time(row) for row in rows)]) + "\n"
    yield "header claims 800 a second", "# sample rate: 800 Hz\n" + sine
    yield "no time column", "\n".join([head, *rows]).replace("Time (s)", "Sample") + "\n"
    yield (
        "blank lines inside",
        "\n".join([head, *rows[:700], "", *rows[700:1400], "", "", *rows[1400:]]) + "\n",
    )
    yield "header again inside", "\n".join([head, *rows[:700], head, *rows[700:]]) + "\n"


def _rounded_time(row: str) -> str:
    time, _, rest = row.partition(",")
    return f"{float(time):.3f},{rest}"


def _cells(bases: dict[str, str]) -> Iterator[tuple[str, str]]:
    head, *rows = bases["sine"].splitlines()
    for word in ("", "NaN", "---", "#REF!", "inf", "1e999", "0x10", "12.3.4", "1 234"):
        time, place, _ = rows[700].split(",")
        yield (
            f"a cell of {word!r}",
            "\n".join([head, *rows[:700], f"{time},{place},{word}", *rows[701:]]) + "\n",
        )
    yield "a cell too many", "\n".join([head, *rows[:700], rows[700] + ",7", *rows[701:]]) + "\n"
    yield "a cell too few", "\n".join([head, *rows[:700], rows[700].rpartition(",")[0], *rows[701:]]) + "\n"
    for spike in (3e3, 1e4, 1e6, -2e3):
        for at in (700, 733, 1411):
            time, place, _ = rows[at].split(",")
            spoiled = [*rows[:at], f"{time},{place},{spike:g}", *rows[at + 1 :]]
            yield f"a spike of {spike:g} N at {at}", "\n".join([head, *spoiled]) + "\n"
    yield "decimal commas between commas", bases["semicolons"].replace(";", ",")
    yield "two decimal marks", bases["semicolons"].replace(",", ".", 9)
    yield "a quote open", bases["sine"].replace("0.1", '"0.1', 1)
    yield "words at the end", bases["sine"] + "end of run\n"
    yield (
        "temperature as the force",
        bases["sine"].replace("Displacement (mm)", "Displacement (mm),Temp (C)", 1),
    )
    yield "clicks of nobody", "# clicks: 7\n" + bases["sine"]
    yield "clicks in words", "# clicks rebound: a few\n" + bases["sine"]
    yield "boiling oil", "# temperature: 400 C\n" + bases["sine"]
    yield "pressure without a unit", "# gas pressure: 25\n" + bases["sine"]
    yield "two columns of force", bases["table"].replace("Velocity (m/s),Force (N)", "Force (N),Load (N)")


def _no_damper(twin: TwinRecording) -> Iterator[tuple[str, str]]:
    rng = np.random.default_rng(1)
    size = twin.force.size
    yield "no force", recording_text(replace(twin, force=np.zeros(size)))
    yield "no motion", recording_text(replace(twin, displacement=np.zeros(size)))
    yield "a spring alone", recording_text(replace(twin, force=20e3 * twin.displacement))
    yield "noise alone", recording_text(replace(twin, force=100 * rng.standard_normal(size)))
    yield "force of another time", recording_text(replace(twin, force=np.roll(twin.force, 69)))
    yield (
        "displacement is noise",
        recording_text(replace(twin, displacement=0.02 * rng.standard_normal(size))),
    )


def _only_beside() -> Iterator[tuple[str, str]]:
    table, sine = _table(), recording_text(_twin())
    for unit in ("lbf", "kgf"):
        yield f"table N as {unit}", table.replace("(N)", f"({unit})")
        yield f"sine N as {unit}", sine.replace("(N)", f"({unit})")
    yield "table m/s as in/s", table.replace("(m/s)", "(in/s)")
    in_pounds = recording_text(_twin(), layout={**PLAIN, "force": ("Force (N)", 4.4482216152605)})
    yield "sine lbf as N", in_pounds
    in_mm = _rewired(table, {0: 1000.0 / 25.4})
    yield "table in/s as mm/s", in_mm.replace("(m/s)", "(mm/s)")


def write(case: Mangled, folder: Path) -> Path:
    """Put a spoiled file into a folder."""
    path = folder / "spoiled.csv"
    path.write_text(case.text, encoding="utf-8")
    return path
