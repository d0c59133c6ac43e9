"""Logs of one ride, spoiled as loggers, exports and people spoil them."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.intake.machine import Corner, Machine
from tests.helpers.ride_twins import FORK, SHOCK, Floats, Logged, LoggerTraits, Ride, log_text, logged, ride

MACHINE = Machine(
    name="Twin",
    kind="mountain bike",
    mass=14.0,
    corners=(
        Corner(name="front", end="front", leverage=FORK.leverage),
        Corner(name="rear", end="rear", leverage=SHOCK.leverage),
    ),
)
HEAD = "Time (s),Rear travel (mm)"


@dataclass(frozen=True)
class MangledLog:
    """A spoiled file.

    Parameters
    ----------
    name : what was done to it.
    text : its content.
    reads : whether it has to be read; otherwise it may be refused.
    calibrations : as typed.
    beside : whether the slip shows only in how little of the machine's travel is used.
    """

    name: str
    text: str
    reads: bool = False
    calibrations: dict[str, str] = field(default_factory=dict)
    beside: bool = False


@cache
def truth() -> Ride:
    """What truly happened."""
    return ride(SHOCK, seed=4, length=20.0)


@cache
def twin() -> Logged:
    """The ride as a good logger has it."""
    return logged(truth(), traits=LoggerTraits(rate=200.0, noise=0.0001), seed=1)


def columns(scale: float = 1e3, digits: int = 4, head: str = HEAD, **how: str) -> str:
    """Time and rear travel as text, in a unit of so many to the metre."""
    names = head.split(",")
    values: tuple[Floats, Floats] = (twin().time, scale * twin().travel)
    return log_text(tuple(zip(names, values, strict=True)), digits=digits, **how)


def all_mangled() -> Iterator[MangledLog]:
    """Every spoiled file, some hundred and twenty."""
    yield from _ways_to_write_it()
    yield from _units()
    yield from _cut_off()
    yield from _empty()
    yield from _clock()
    yield from _cells()
    yield from _headers()
    yield from _sensors()


def _ways_to_write_it() -> Iterator[MangledLog]:
    text = columns()
    yield MangledLog("plain", text, reads=True)
    yield MangledLog("tabs", columns(delimiter="\t").replace(HEAD, HEAD.replace(",", "\t")), reads=True)
    semicolons = columns(delimiter=";")
    yield MangledLog("semicolons", semicolons, reads=True)
    yield MangledLog("decimal commas", semicolons.replace(".", ","), reads=True)
    yield MangledLog(
        "blanks", "time_s rear_travel_mm\n" + columns(delimiter=" ").partition("\n")[2], reads=True
    )
    yield MangledLog("carriage returns", text.replace("\n", "\r\n"), reads=True)
    yield MangledLog("byte order mark", "\ufeff" + text, reads=True)
    yield MangledLog("quotes", text.replace(HEAD, '"Time (s)","Rear travel (mm)"'), reads=True)
    yield MangledLog("units below", text.replace(HEAD, "Time,Rear travel\ns,mm"), reads=True)
    yield MangledLog("words in front", "# logger 7\nTrail one\nRider: somebody\n" + text, reads=True)
    yield MangledLog("empty last column", text.replace("\n", ",\n"), reads=True)
    yield MangledLog("columns swapped", _swapped(text), reads=True)
    yield MangledLog("exponents", _exponents(), reads=True)
    yield MangledLog("a speed beside", _with_column(text, "Wheel speed (km/h)", "21.5"), reads=True)
    yield MangledLog("a brake beside", _with_column(text, "Rear brake pressure (bar)", "0.0"), reads=True)
    yield MangledLog("a column of words", _with_column(text, "Note", "lap"), reads=True)
    front = logged(ride(FORK, seed=4, length=20.0), traits=LoggerTraits(rate=200.0), seed=2)
    both = (
        ("t [s]", twin().time),
        ("fork position [mm]", 1e3 * front.travel),
        ("rear position [mm]", 1e3 * twin().travel),
    )
    yield MangledLog("both ends", log_text(both), reads=True)


def _exponents() -> str:
    rows = zip(twin().time, 1e3 * twin().travel, strict=True)
    return HEAD + "\n" + "".join(f"{t:.6e},{x:.5e}\n" for t, x in rows)


def _swapped(text: str) -> str:
    return "\n".join(",".join(line.split(",")[::-1]) for line in text.splitlines()) + "\n"


def _with_column(text: str, head: str, value: str) -> str:
    first, *rows = text.splitlines()
    return "\n".join([f"{first},{head}", *(f"{row},{value}" for row in rows)]) + "\n"


def _units() -> Iterator[MangledLog]:
    head = "Time (s),Rear travel ({})"
    for unit, scale in (("m", 1.0), ("cm", 100.0), ("in", 1 / 0.0254), ("%", 100 / 0.14)):
        right = columns(scale, head=head.format(unit), digits=6)
        yield MangledLog(f"in {unit}", right, reads=True)
        yield MangledLog(f"mm called {unit}", columns(head=head.format(unit)))
        yield MangledLog(f"{unit} called mm", columns(scale, digits=6), beside=unit == "%")
    yield MangledLog("share called per cent", columns(1 / 0.14, head=head.format("%"), digits=6))
    yield MangledLog("no unit", columns(head="Time (s),Rear travel"))
    yield MangledLog("a unit of force", columns(head=head.format("N")))
    milliseconds = log_text((("Time (ms)", 1e3 * twin().time), ("Rear travel (mm)", 1e3 * twin().travel)))
    yield MangledLog("milliseconds", milliseconds, reads=True)
    for unit in ("ms", "us"):
        yield MangledLog(f"seconds called {unit}", columns(head=f"Time ({unit}),Rear travel (mm)"))
    yield MangledLog("milliseconds called seconds", milliseconds.replace("(ms)", "(s)"))
    volts = 0.5 + 4.0 * twin().travel / 0.14
    text = log_text((("Time (s)", twin().time), ("Rear pot (V)", volts)))
    yield MangledLog("volts", text, reads=True, calibrations={"rear": "0.5:0 mm, 4.5:140 mm"})
    yield MangledLog("volts, nobody says what they are", text)
    yield MangledLog("volts, twice as much travel", text, calibrations={"rear": "0.5:0 mm, 2.5:140 mm"})
    yield MangledLog("volts, a tenth", text, calibrations={"rear": "0.5:0 mm, 4.5:14 mm"})
    yield MangledLog("volts, the wrong way round", text, calibrations={"rear": "4.5:0 mm, 0.5:140 mm"})
    for typed in (
        "0.5:0 mm",
        "0.5:0 mm, 0.5:140 mm",
        "a:0 mm, b:140 mm",
        "0.5, 4.5",
        "",
        "1:2:3, 4",
        "nan:0 mm, 1:9 mm",
    ):
        yield MangledLog(f"calibrated by {typed!r}", text, calibrations={"rear": typed})
    back = log_text((("Time (s)", twin().time), ("Rear travel (mm)", 140 - 1e3 * twin().travel)))
    yield MangledLog("backwards", back)
    length = log_text((("Time (s)", twin().time), ("Rear travel (mm)", 210 - 400 * twin().travel)))
    yield MangledLog("length of the shock", length)
    shaft = SHOCK.leverage.shaft_travel(wheel_travel=np.clip(twin().travel, 0, 0.14))
    named = (("Time (s)", twin().time), ("Rear shock travel (mm)", 1e3 * shaft))
    yield MangledLog("at the shaft", log_text(named), reads=True)
    yield MangledLog("wheel called shock", columns(head="Time (s),Rear shock travel (mm)"))


def _cut_off() -> Iterator[MangledLog]:
    rng = random.Random(7)
    text = columns()
    for number in range(12):
        place = rng.randint(len(text) * 9 // 10, len(text) - 2)
        yield MangledLog(f"cut off, {number}", text[:place], reads=True)
    for rows in (1, 5, 40, 100):
        yield MangledLog(f"{rows} rows", "\n".join(text.splitlines()[: rows + 1]) + "\n")


def _empty() -> Iterator[MangledLog]:
    yield MangledLog("empty", "")
    yield MangledLog("blank lines", "\n\n  \n")
    yield MangledLog("a header alone", HEAD + "\n")
    yield MangledLog("words alone", "nothing was logged\n")
    yield MangledLog("no header", columns().partition("\n")[2])
    yield MangledLog("zero bytes", columns()[:500] + "\x00" + columns()[500:])
    yield MangledLog("markup", "<html><body>1,2</body></html>\n")


def _clock() -> Iterator[MangledLog]:
    first, *rows = columns().splitlines()

    def made(rows: list[str], head: str = first) -> str:
        return "\n".join([head, *rows]) + "\n"

    yield MangledLog("two rows swapped", made([*rows[:900], rows[901], rows[900], *rows[902:]]))
    yield MangledLog("backwards in time", made(rows[::-1]))
    yield MangledLog("a piece twice", made([*rows[:900], *rows[800:]]))
    yield MangledLog("the whole twice", made([*rows, *rows]))
    yield MangledLog("time stands still", made(["0.0," + row.partition(",")[2] for row in rows]))
    yield MangledLog("a row from another day", made([*rows, "86400.0,30.0"]))
    yield MangledLog("a row twice", made([*rows[:700], *rows[699:]]), reads=True)
    for missing in (1, 3, 10, 60):
        yield MangledLog(f"{missing} rows missing", made([*rows[:1000], *rows[1000 + missing :]]), reads=True)
    pause = [f"{float(row.partition(',')[0]) + 40:.4f},{row.partition(',')[2]}" for row in rows[2000:]]
    yield MangledLog("a pause", made([*rows[:2000], *pause]), reads=True)
    rounded = [f"{float(row.partition(',')[0]):.3f},{row.partition(',')[2]}" for row in rows]
    yield MangledLog("time to a millisecond", made(rounded), reads=True)
    hundredths = [f"{float(row.partition(',')[0]):.1f},{row.partition(',')[2]}" for row in rows]
    yield MangledLog("time to a tenth", made(hundredths))
    yield MangledLog("every tenth row", made(rows[::10]))
    yield MangledLog("every twentieth row", made(rows[::20]))
    yield MangledLog("no time", made([row.partition(",")[2] for row in rows], "Rear travel (mm)"))
    yield MangledLog("a counter for time", made(rows).replace("Time (s)", "Sample"))
    clock = [f"12:00:{float(row.partition(',')[0]):06.3f},{row.partition(',')[2]}" for row in rows]
    yield MangledLog("clock times", made(clock))
    yield MangledLog("a header again", made([*rows[:1500], first, *rows[1500:]]), reads=True)
    yield MangledLog(
        "another header inside", made([*rows[:1500], "Time (s),Front travel (mm)", *rows[1500:]])
    )
    yield MangledLog("blank lines inside", made([*rows[:1500], "", "", *rows[1500:]]), reads=True)


def _cells() -> Iterator[MangledLog]:
    first, *rows = columns().splitlines()
    time = rows[1200].partition(",")[0]
    for cell in ("", "nan", "--", "N/A", "inf"):
        spoiled = [*rows[:1200], f"{time},{cell}", *rows[1201:]]
        yield MangledLog(f"a cell of {cell!r}", "\n".join([first, *spoiled]) + "\n", reads=True)
    for cell in ("#REF!", "0x1f", "12.3.4", "1 234", "12,5", "error", "1e999"):
        spoiled = [*rows[:1200], f"{time},{cell}", *rows[1201:]]
        yield MangledLog(f"a cell of {cell!r}", "\n".join([first, *spoiled]) + "\n")
    half = [row if number % 2 else f"{row.partition(',')[0]}," for number, row in enumerate(rows)]
    yield MangledLog("every second cell empty", "\n".join([first, *half]) + "\n", reads=True)
    yield MangledLog(
        "all cells empty", "\n".join([first, *(f"{row.partition(',')[0]}," for row in rows)]) + "\n"
    )
    yield MangledLog(
        "a cell too many", "\n".join([first, *rows[:1200], rows[1200] + ",7", *rows[1201:]]) + "\n"
    )
    yield MangledLog("a cell too few", "\n".join([first, *rows[:1200], time, *rows[1201:]]) + "\n")
    for spike in (-500.0, -40.0, 60.0, 139.9, 4095.0, 1e7):
        spoiled = [*rows[:1200], f"{time},{spike}", *rows[1201:]]
        yield MangledLog(f"a spike of {spike:g} mm", "\n".join([first, *spoiled]) + "\n", reads=True)
    lost = [f"{row.partition(',')[0]},0.0" if 1200 <= n < 1203 else row for n, row in enumerate(rows)]
    yield MangledLog("a plug loose for three samples", "\n".join([first, *lost]) + "\n", reads=True)


def _headers() -> Iterator[MangledLog]:
    text = columns()
    yield MangledLog("nobody's travel", text.replace("Rear travel", "Travel"))
    yield MangledLog("two of one wheel", _with_column(text, "Rear wheel position (mm)", "12.0"))
    yield MangledLog("a wheel that the machine lacks", text.replace("Rear", "Rear left"))
    yield MangledLog("a long header", text.replace("Rear travel", "Rear travel " + "x" * 5000))
    yield MangledLog("velocity for travel", text.replace("Rear travel (mm)", "Rear velocity (mm/s)"))


def _sensors() -> Iterator[MangledLog]:
    time, travel = twin().time, twin().travel

    def made(values: Floats) -> str:
        return log_text((("Time (s)", time), ("Rear travel (mm)", 1e3 * values)))

    rng = np.random.default_rng(3)
    yield MangledLog("nothing moves", made(np.full(time.size, 0.03)))
    yield MangledLog("noise alone", made(0.0002 * rng.standard_normal(time.size)))
    yield MangledLog("noise of the whole travel", made(0.14 * rng.random(time.size)))
    for offset in (-0.02, 0.01, 0.03):
        yield MangledLog(f"{1e3 * offset:g} mm off", made(travel + offset), reads=True)
    for offset in (-0.08, 0.08, 0.5):
        yield MangledLog(f"{1e3 * offset:g} mm off", made(travel + offset))
    yield MangledLog("at its end at 90 mm", made(np.minimum(travel, 0.09)))
    yield MangledLog("coarse, one mm", made(np.round(travel, 3)))
    yield MangledLog("stuck from the middle on", made(np.where(time > 12, 0.05, travel)))
    yield MangledLog("loud", made(travel + 0.003 * rng.standard_normal(time.size)))
    yield MangledLog("half of the travel", made(travel / 2), beside=True)
    yield MangledLog("twice the travel", made(2 * travel))


LEVERAGE: LeverageCurve = SHOCK.leverage
