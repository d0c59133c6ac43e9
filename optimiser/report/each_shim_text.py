"""What each shim of a stack does, for the terminal: a table in the order of the stack, and a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser.model.band_result import BandResult
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.percent import percent_text
from optimiser.model.stock import ShimKey, Stock
from optimiser.report.band_rows import marks
from optimiser.report.steps import shim_text
from optimiser.report.strokes import stroke_of
from optimiser.studies.each_shim import ShimTried, Tried

WIDTH: Final = 41
"""Characters that changes are drawn over. [-]"""

OUT, MORE, BOTH = "o", "#", "8"
"""Marks of the drawing."""

MOVED: Final = 5e-4
"""A band that changes by less prints as not changed. [-]"""

LEAST_SPAN: Final = 0.01
"""Half of the axis, at least. [-]"""

FAR: Final = 5.0
"""A change so many times the middle one is drawn at the edge of the axis, so that the others stay apart."""


def print_each_shim(
    console: Console, shims: Sequence[ShimTried], goal: Goal, *, hole: int, stock: Stock | None
) -> None:
    """Show what each shim does.

    Parameters
    ----------
    console : where to.
    shims : from the piston outwards.
    goal : the bands; they are named by letter.
    hole : diameter of the shaft. [um]
    stock : what is free on the shelf, to say which shim there is one more of; None where no shelf is known.
    """
    console.print(each_shim_table(shims, goal, hole=hole, stock=stock))
    console.print("Average change of the damping force in each band, from the piston outwards.")
    if words := unmoved_text(shims, goal):
        console.print(words)
    for shim in shims:
        for name, tried in tries_of(shim):
            for words in said_of(tried):
                console.print(Text(f"{places_text(shim)}: {shim_text(shim.key, hole=hole)} {name}: {words}"))
    console.print()
    console.out(each_shim_drawing(shims, goal, hole=hole) + "\n", highlight=False)


def moved_bands(shims: Sequence[ShimTried], goal: Goal) -> tuple[tuple[int, str, Window], ...]:
    """Place, letter and window of the bands that some shim of the stack changes."""
    return tuple(
        (place, mark, window)
        for place, (mark, window) in enumerate(zip(marks(), goal.windows, strict=False))
        if any(abs(result.mean) >= MOVED for result in _results(shims, place))
    )


def drawn_bands(shims: Sequence[ShimTried], goal: Goal) -> tuple[tuple[int, str, Window], ...]:
    """Those of them that are drawn; stretches that only stay familiar are not."""
    return tuple(one for one in moved_bands(shims, goal) if one[2].role is not Role.FAMILIARITY)


def unmoved_text(shims: Sequence[ShimTried], goal: Goal) -> str:
    """Which bands no shim of the stack changes, in a sentence; empty where each is changed by one."""
    moved = {mark for _, mark, _ in moved_bands(shims, goal)}
    rest = [
        f"{mark} ({window.name}, {stroke_of(window)})"
        for mark, window in zip(marks(), goal.windows, strict=False)
        if mark not in moved
    ]
    return f"No shim of this stack changes {', '.join(rest)}." if rest else ""


def tries_of(shim: ShimTried) -> tuple[tuple[str, Tried], tuple[str, Tried]]:
    """What was tried with a shim, by name."""
    return ("one out", shim.out), ("one more", shim.one_more)


def said_of(tried: Tried) -> tuple[str, ...]:
    """Why a stack cannot be built, or what speaks against it, in sentences."""
    return tried.why_not if tried.mind is None else (f"{tried.mind.value.capitalize()}.",)


def places_text(shim: ShimTried) -> str:
    """Where alike neighbours lie, counted from the piston: ``1-3``."""
    first, last = shim.places[0] + 1, shim.places[-1] + 1
    return str(first) if first == last else f"{first}-{last}"


def shims_text(shim: ShimTried, *, hole: int) -> str:
    """How many there are of what: ``3 of 20x0.10``."""
    count = f"{len(shim.places)} of " if len(shim.places) > 1 else ""
    return count + shim_text(shim.key, hole=hole)


def each_shim_table(shims: Sequence[ShimTried], goal: Goal, *, hole: int, stock: Stock | None) -> Table:
    """A line for each shim out and one for each shim more, with the average change in each band."""
    table = Table(title="What each shim does", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Places", no_wrap=True)
    table.add_column("Shims", no_wrap=True)
    table.add_column("Try", no_wrap=True)
    moved = moved_bands(shims, goal)
    for _, mark, _ in moved:
        table.add_column(mark, justify="right", no_wrap=True)
    for shim in shims:
        for row, (name, tried) in enumerate(tries_of(shim)):
            head = ("", "") if row else (places_text(shim), shims_text(shim, hole=hole))
            cells = [percent_text(tried.bands[place].mean) if tried.bands else "-" for place, _, _ in moved]
            table.add_row(*head, name + (_shelf(shim.key, stock) if row and tried.bands else ""), *cells)
    return table


def _shelf(key: ShimKey, stock: Stock | None) -> str:
    """A remark where the shelf has none more of a type."""
    return "" if stock is None or stock.count(key) else " (none on the shelf)"


def each_shim_drawing(shims: Sequence[ShimTried], goal: Goal, *, hole: int) -> str:
    """A block for each band and in it a line for each shim: what one out and one more do, on one axis."""
    room = max(len(shims_text(shim, hole=hole)) for shim in shims)
    lines: list[str] = []
    for place, mark, window in drawn_bands(shims, goal):
        span = drawn_span(shims, place)
        ends = [percent_text(share) for share in (-span, span)]
        axis = ends[0] + "0".center(WIDTH - len(ends[0]) - len(ends[1])) + ends[1]
        lines.append(f"{mark}  {' '.join(window.name.split())}, {stroke_of(window)}")
        lines.append(f"   {'':<{room}}  {axis}")
        lines += [
            f"   {shims_text(shim, hole=hole):<{room}}  {_strip(shim, place, span)}".rstrip()
            for shim in shims
        ]
    lines.append(
        f"   {OUT} one out, {MORE} one more, {BOTH} both; | no change; the piston is above, the nut below"
    )
    return "\n".join(lines)


def drawn_span(shims: Sequence[ShimTried], place: int) -> float:
    """Half of the axis that a band's changes are drawn over; a crossover often lies far beyond it. [-]"""
    sizes = sorted(
        abs(result.mean) for result in _results(shims, place) if abs(result.mean) > LEAST_SPAN / 10
    )
    middle = sizes[len(sizes) // 2] if sizes else 0.0
    return max([LEAST_SPAN, *(size for size in sizes if size <= FAR * middle)])


def _results(shims: Sequence[ShimTried], place: int) -> Iterator[BandResult]:
    for shim in shims:
        for _, tried in tries_of(shim):
            if tried.bands:
                yield tried.bands[place]


def _strip(shim: ShimTried, place: int, span: float) -> str:
    strip = [" "] * WIDTH
    strip[WIDTH // 2] = "|"
    for sign, (_, tried) in zip((OUT, MORE), tries_of(shim), strict=True):
        if tried.bands:
            share = tried.bands[place].mean / span
            at = round((min(max(share, -1.0), 1.0) + 1) / 2 * (WIDTH - 1))
            strip[at] = BOTH if strip[at] == OUT else sign
            if abs(share) > 1 + 1e-9:
                figure = percent_text(tried.bands[place].mean)
                beyond = f"< {figure} {sign}" if share < 0 else f"{sign} {figure} >"
                strip[at] = " "
                strip = [*beyond, *strip[len(beyond) :]] if share < 0 else [*strip[: -len(beyond)], *beyond]
    return "".join(strip)
