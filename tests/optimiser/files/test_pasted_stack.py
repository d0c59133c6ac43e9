"""A stack is read as people write it; what has two meanings is refused where it stands, not chosen from."""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable, Sequence
from functools import cache
from itertools import groupby

import pytest

from optimiser.files.damper_builder import read_damper
from optimiser.files.stack_text import shims_from_text
from optimiser.model.edits import keys_of
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.helpers.paths import ROOT

Run = tuple[int, str, str, str]
"""Shims that are alike: how many, diameter, thickness, and the hole where it is a ring's. [mm]"""


@cache
def demo_stacks() -> dict[str, tuple[tuple[ShimKey, ...], int]]:
    """Types of every stack of the demo shop, and the shaft. [um]"""
    stacks = {}
    for path in sorted((ROOT / "inventory_demo" / "dampers").glob("*.toml")):
        for mounted in read_damper(path).stacks:
            hole = round(mounted.mounting.hole_diameter * 1e6)
            stacks[f"{path.stem}: {mounted.name}"] = keys_of(mounted.stack), hole
    return stacks


def runs_of(keys: Sequence[ShimKey], hole: int) -> list[Run]:
    return [
        (len(list(alike)), f"{key.outer / 1000:g}", f"{key.thickness / 1000:.2f}", _ring(key, hole))
        for key, alike in groupby(keys)
    ]


def _ring(key: ShimKey, hole: int) -> str:
    return "" if key.inner == hole else f"{key.inner / 1000:g}"


def each(
    form: str, *, alone: str = "{o}x{t}", ring: str = " hole {h}", between: str = ", "
) -> Callable[[list[Run]], str]:
    """A way of writing entries: several alike by ``form``, one alone by ``alone``, a ring with its hole behind."""

    def written(runs: list[Run]) -> str:
        return between.join(
            (form if n > 1 else alone).format(n=n, o=o, t=t, c=t.replace(".", ","), d=t.lstrip("0"))
            + (ring.format(h=h) if h else "")
            for n, o, t, h in runs
        )

    return written


def table(head: str, row: str, between: str = "\n") -> Callable[[list[Run]], str]:
    """A table with a head; ``{h}`` is the shaft's hole where it is no ring's."""

    def written(runs: list[Run], shaft: str = "") -> str:
        return between.join(
            [
                head,
                *(row.format(n=n, o=o, t=t, h=h or "SHAFT", p=p) for p, (n, o, t, h) in enumerate(runs, 1)),
            ]
        )

    return written


def numbered(form: str) -> Callable[[list[Run]], str]:
    def written(runs: list[Run]) -> str:
        return "\n".join(
            form.format(p=place) + each("{n} of {o}x{t}")([run]) for place, run in enumerate(runs, 1)
        )

    return written


def drawn(runs: list[Run]) -> str:
    """As the labels beside our own section drawings."""
    lines, first = [], 1
    for n, o, t, h in runs:
        place = f"{first}\N{EN DASH}{first + n - 1}:  {n} of" if n > 1 else f"{first}: "
        lines.append(f"{place} {o}x{t}" + (f" ring, hole {h}" if h else ""))
        first += n
    return "\n".join(lines)


WAYS: dict[str, Callable[[list[Run]], str]] = {
    "as in a file": each("{n} of {o}x{t}"),
    "lines": each("{n} of {o}x{t}", between="\n"),
    "no zero, count behind": each("{o}x{d} x{n}", alone="{o}x{d}"),
    "count in brackets": each("{o} x {c} ({n})", alone="{o} x {c}"),
    "count in brackets before": each("({n}) {o}x{t}"),
    "count spaced before": each("{n} x {o}x{t}"),
    "count x before": each("{n}x {o}x{t}"),
    "starred behind": each("{o}x{t}*{n}"),
    "starred before": each("{n}*{o}x{t}"),
    "spaced star behind": each("{o}x{t} * {n}"),
    "multiplication sign": each("{n} × {o}×{t}", alone="{o}×{t}"),
    "capital X, more digits": each("{o}.0 X {t}0  x{n}", alone="{o}.0 X {t}0") ,
    "diameter sign": each("{n} of Ø{o} × {t}", alone="Ø{o} × {t}"),
    "slash": each("{n} of {o}/{t}", alone="{o}/{t}"),
    "slash, count behind": each("{o}/{t} x{n}", alone="{o}/{t}"),
    "dash": each("{n} of {o}-{t}", alone="{o}-{t}"),
    "millimetres": each("{n} of {o}mm x {t}mm", alone="{o}mm x {t}mm"),
    "millimetres spaced": each("{n} pcs {o} mm x {t} mm", alone="{o} mm x {t} mm", between="; "),
    "semicolons": each("{o}x{t} x{n}", between="; "),
    "tabs": each("{o}x{t} x{n}", between="\t"),
    "tight commas": each("{n} of {o}x{t}", between=","),
    "decimal commas in a list of commas": each("{n} of {o}x{c}", alone="{o}x{c}", between=","),
    "decimal commas, spaced": each("{n} x {o} x {c}".replace("{n} x", "{n} of"), alone="{o} x {c}"),
    "pieces": each("{n} pcs {o}x{t}", between="\n"),
    "pieces behind": each("{o}x{t} - {n} pcs", between="\n"),
    "off": each("{n} off {o}x{t}"),
    "quantity": each("{o}x{t} qty {n}"),
    "at": each("{n} @ {o}x{t}"),
    "by": each("{n} of {o} by {t}", alone="{o} by {t}"),
    "words": each("{n} of OD {o} t {t}", alone="OD {o} t {t}"),
    "words behind": each("{n} of {o} od x {t} thick", alone="{o} od x {t} thick", ring=""),
    "square brackets": each("{o}x{t} [{n}]"),
    "colon": each("{o}x{t}: {n}"),
    "plus": each("{n} of {o}x{t}", between=" + "),
    "spaces alone": each("{o}x{t} x{n}", between=" "),
    "spaces alone, brackets": each("{o}x{t}({n})", between=" "),
    "bullets": each("- {n} of {o}x{t}", alone="- {o}x{t}", between="\n"),
    "numbered with points": numbered("{p}. "),
    "numbered with brackets": numbered("{p}) "),
    "numbered with colons": numbered("{p}: "),
    "numbered with hashes": numbered("#{p} "),
    "labels of a drawing": drawn,
    "remarks": each("{n} of {o}x{t}  # soft", alone="{o}x{t} (alone)  // one", between="\n"),
    "a title above": lambda runs: "Compression stack, from the piston:\n\n" + each("{n} of {o}x{t}", between="\n")(runs),
    "a list from a file": lambda runs: 'shims = [\n    "' + each("{n} of {o}x{t}", between='",\n    "')(runs) + '",\n]',
    "a list from a file in one line": lambda runs: 'shims = ["' + each("{n} of {o}x{t}", between='", "')(runs) + '"]',
    "a table of bars": table("| qty | OD | thickness | hole |\n|---|---|---|---|", "| {n} | {o} | {t} | {h} |"),
    "a table of tabs": table("OD (mm)\tthickness (mm)\thole\tcount", "{o}\t{t}\t{h}\t{n}"),
    "a table of commas": table("outer_mm,thickness_mm,hole_mm,count", "{o},{t},{h},{n}"),
    "a table of spaces": table("place  qty  od  t  id", "{p}  {n}  {o}  {t}  {h}"),
    "a table of shims and counts": table("shim | count | hole", "{o}x{t} | {n} | {h}"),
    "rows of tabs without heads": lambda runs: "\n".join(f"{o}\t{t}\tx{n}" + (f"\thole {h}" if h else "") for n, o, t, h in runs),
}  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_every_demo_stack_comes_back_from_every_way_of_writing_it(way: str) -> None:
    assert len(WAYS) >= 40
    for name, (keys, hole) in demo_stacks().items():
        runs = runs_of(keys, hole)
        if way == "words behind" and any(run[3] for run in runs):
            continue  # a word behind every number leaves no place for a ring's hole
        text = WAYS[way](runs).replace("SHAFT", f"{hole / 1000:g}")
        assert shims_from_text(text, hole_mm=hole / 1000) == keys, f"{name}\n{text}"


@pytest.mark.parametrize(
    "form", ["{n}x{o}x{t}", "{o}x{t}x{n}", "{n} x {o} x {t}", "{n} {o} {t}", "{o};{t};{n}"]
)
def test_a_count_that_may_be_the_hole_is_refused_and_any_other_is_read(form: str) -> None:
    refused = 0
    for keys, hole in demo_stacks().values():
        for run in runs_of(keys, hole):
            n, o, t, h = run
            if h or n == 1:
                continue
            for count in (n, round(hole / 1000)):
                text = form.format(n=count, o=o, t=t)
                if count * 1000 == hole:
                    refused += 1
                    with pytest.raises(ValueError, match="one meaning, got"):
                        shims_from_text(text, hole_mm=hole / 1000)
                else:
                    found = shims_from_text(text, hole_mm=hole / 1000)
                    assert len(found) == count, text
                    assert str(found[0]) == f"{o}x{t}"
    assert refused


INCHES = ['0.787" x 0.008"', "0.787 in x 0.008 in", "0.787x0.008 in", "20 x .008in", "0.787 inch by 8 thou"]


@pytest.mark.parametrize("text", INCHES)
def test_inches_are_read_where_they_are_marked(text: str) -> None:
    (shim,) = shims_from_text(text, hole_mm=8)
    assert shim.outer in {19_990, 20_000}
    assert shim.thickness == 203


def test_a_hole_in_front_or_in_the_middle_is_known_by_the_shaft() -> None:
    plain = shims_from_text("20x0.10", hole_mm=8)
    assert shims_from_text("20x8x0.10", hole_mm=8) == plain
    assert shims_from_text("8.5x20x0.10", hole_mm=8.5) == shims_from_text("20x0.10", hole_mm=8.5)
    assert shims_from_text("ring 18x15x0.30", hole_mm=8) == shims_from_text("18x0.30 hole 15", hole_mm=8)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "at least one shim"),
        ("20x0.10\n18x", "line 2, entry 1: a shim like '24x0.20'"),
        ("20x0.10, 18x10", "line 1, entry 2: a thickness from 0.03 to 1 mm, got 10 in '18x10'; did you mean 0.1?"),
        ("20x.004", "inches are read where they are marked, as in '.004 in'"),
        ("8x20x0.10", "one meaning, got '8x20x0.10'; write '8 of 20x0.10' or '1 of 20x0.10'"),
        ("20x0.10x8", "one meaning"),
        ("24x20x0.10", "write '24 of 20x0.10' or '1 of 24x0.10 hole 20'"),
        ("6: 20x0.10", "places that count 1, 2, 3, got 6 in front of '20x0.10'; if that is how many there are, write '6 of 20x0.10'"),
        ("1. 20x0.10\n3. 18x0.10", "line 2, entry 1: places that count 1, 2, 3, got 3"),
        ("(1) 20x0.10\n(2) 18x0.10", "line 2, entry 1: one meaning"),
        ("6 - 20x0.10", "a shim like"),
        ("20x0.10, 6, 18x0.10", "line 1, entry 2: a shim like"),
        ("20x0,6x18x0,1", "line 1, entry 1: a shim like"),
        ("20,0,10,6", "line 1, entry 1"),
        ("20x0.10 6 18x0.10", "line 1, entry 1: a shim like"),
        ("20xx0.10", "a shim like"),
        ("20x0.10 x6 x2", "line 1, entry 1"),
        ("6 of 20x0.10 x6", "line 1, entry 1"),
        ("0 of 20x0.10", "a whole number of shims from 1 to 200, got '0'"),
        ("1,5 of 20x0.10", "a whole number of shims from 1 to 200, got '1.5'"),
        ("20:0.10", "a shim like"),
        ("18x0.30 ring", "a ring with its hole, wider than the shaft"),
        ("18x0.30 hole 19", "line 1, entry 1: a hole smaller than the rim"),
        ("7x0.10", "a hole smaller than the rim"),
        ("one thick, one thin", "line 1, entry 1: a shim like"),
        ("20x0.10\nRebound:\n18x0.10", "line 2: one stack, got another that begins with 'Rebound:'"),
        ("od,thickness\n20,0.10\n18", "line 3: a row of 2 cells (od, thickness), got '18'"),
        ("od (in),thickness (in)\n0.787,0.008", "line 1, entry 1"),
        ("20²x0.1", "line 1, entry 1: a shim like"),
        ("20x0.10 {", "line 1, entry 1"),
        ("x" * 30_000, "a stack of at most 20000 characters, got 30000"),
        ("300 of 20x0.10", "a whole number of shims from 1 to 200, got '300'"),
    ],
)  # fmt: skip
def test_what_is_no_shim_or_two_is_refused_where_it_stands(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=r".") as refusal:
        shims_from_text(text, hole_mm=8)
    assert words in str(refusal.value)


def test_whatever_is_typed_is_read_or_refused_by_its_place() -> None:
    chance = random.Random(40)
    signs = '0123456789.,xX*/()[]-:;|\t\n #=@"ø of qty\u00b2\u0663'
    texts = [way(runs_of(keys, hole)) for keys, hole in demo_stacks().values() for way in WAYS.values()]
    read, refused = 0, []
    for _ in range(tries(quick=1500, thorough=20_000)):
        letters = list(chance.choice(texts))
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(letters))
            letters[at : at + chance.randint(0, 1)] = chance.choice(signs)
        try:
            read += bool(shims_from_text("".join(letters), hole_mm=8))
        except ValueError as refusal:
            refused.append(str(refusal))
    assert read
    assert [
        said for said in refused if not re.match(r"line \d+|at most|a stack in which|at least", said)
    ] == []


@pytest.mark.parametrize(
    "text", ["1" * 20_000, "20x0.10 " * 2400, "(" * 9000, "1," * 9000, "20 x " * 4000, "1-" * 9000]
)
def test_a_long_text_is_refused_at_once(text: str) -> None:
    begun = time.process_time()
    with pytest.raises(ValueError, match=r"characters, got|a shim like|at most"):
        shims_from_text(text, hole_mm=8)
    assert time.process_time() - begun < 3
