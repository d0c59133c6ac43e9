"""A ride in the terminal: what was derived, shares by band, events, the moment, and drawings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser.report.console import in_colour, print_drawing
from optimiser.report.in_units import in_units
from optimiser.report.ride_log_drawing import density_text, faster_than_text
from optimiser.report.unit_system import UnitSystem
from optimiser.ride_log.beside import RunBeside
from optimiser.ride_log.events import EventKind, LoggedEvent
from optimiser.ride_log.moment import Moment
from optimiser.ride_log.shares import BandShare
from optimiser.ride_log.wheel_ride import WheelRide

MOST_EVENTS: Final = 30
"""Listed for one wheel."""


def print_ride(
    console: Console, wheels: Sequence[WheelRide], *, notes: Sequence[str], units: UnitSystem
) -> None:
    """Print a ride, wheel by wheel.

    Parameters
    ----------
    console : where to.
    wheels : in order.
    notes : of the files.
    units : what people read.
    """
    for note in notes:
        console.print(Text(in_units(note, units)))
    for ride in wheels:
        motion = ride.motion
        console.print(
            Text(
                f"\n{motion.corner}: {motion.seconds:.1f} s that count, {motion.rate:.4g} samples a second. "
                f"The wheel is at {units.travel_text(ride.usual)} half of the time, and at most at "
                f"{units.travel_text(ride.deepest)} of {units.travel_text(motion.travel_end)}."
            )
        )
        for note in motion.notes:
            console.print(Text(f"  {in_units(note, units)}"))
        console.print(_shares(ride, units))
        for peak in ride.peaks:
            console.print(
                Text(
                    f"{peak.stroke}: at most {units.velocity_text(peak.velocity)} {units.velocity_unit} at "
                    f"{peak.at:.2f} s, with the wheel at {units.travel_text(peak.travel)}; 99 of 100 moments "
                    f"below {units.velocity_text(peak.usually_below)} {units.velocity_unit}"
                )
            )
        console.print()
        width = min(console.width, 100)
        print_drawing(console, faster_than_text(ride, units=units, width=width, colour=in_colour(console)))
        print_drawing(console, density_text(ride, units=units))
        console.print(_events(ride.events, units))
        if len(ride.events) > MOST_EVENTS:
            console.print(f"{len(ride.events) - MOST_EVENTS} more are in --json.")
        if ride.moment is not None:
            for line in moment_words(ride.moment, units):
                console.print(Text(line))
            console.print(Text("\nFor a job:\n" + job_lines(motion.corner, ride.moment)))
        for what, other in (("the other run", ride.over), ("the prediction", ride.predicted)):
            if other is not None:
                console.print(_beside(other[1], what))
                for line in beside_words(other[1], what, units):
                    console.print(Text(line))


def _span(share: BandShare, units: UnitSystem) -> str:
    if share.low == 0:
        return f"under {units.velocity_text(share.high)}"
    if not np.isfinite(share.high):
        return f"over {units.velocity_text(share.low)}"
    return f"{units.velocity_text(share.low)} to {units.velocity_text(share.high)}"


def _shares(ride: WheelRide, units: UnitSystem) -> Table:
    table = Table(
        title="Share of time by shaft velocity, %; in brackets of the shaft's way",
        box=SIMPLE_HEAD,
        pad_edge=False,
    )
    for name in ("band", units.velocity_unit):
        table.add_column(name)
    for name in ("compression", "rebound", "both"):
        table.add_column(name, justify="right")
    rows: dict[str, list[BandShare]] = {}
    for share in ride.shares:
        rows.setdefault(share.band, []).append(share)
    for band, own in rows.items():
        cells = {share.stroke: f"{100 * share.time:.1f} ({100 * share.way:.0f})" for share in own}
        both = f"{100 * sum(share.time for share in own):.1f}"
        row = (
            band,
            _span(own[0], units),
            cells.get("compression", ""),
            cells.get("rebound", ""),
            both,
        )
        table.add_row(*map(Text, row))
    return table


def _events(events: Sequence[LoggedEvent], units: UnitSystem) -> Table:
    table = Table(title="Events, by rules of thumb", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("event")
    for name in ("from, s", "to, s", f"travel, {units.length_unit}", f"shaft, {units.velocity_unit}"):
        table.add_column(name, justify="right")
    table.add_column("more")
    for event in events[:MOST_EVENTS]:
        travel = " to ".join(
            units.travel_text(max(one, 0.0)).split()[0] for one in (event.travel_from, event.travel_to)
        )
        more = {
            EventKind.LANDING: f"{event.air_time:.2f} s in the air",
            EventKind.ROLLERS: f"{event.count} in a row",
        }.get(event.kind, "")
        table.add_row(
            *map(
                Text,
                (
                    event.kind.value,
                    f"{event.first:.2f}",
                    f"{event.last:.2f}",
                    travel,
                    units.velocity_text(event.shaft_velocity),
                    more,
                ),
            )
        )
    return table


def moment_words(moment: Moment, units: UnitSystem) -> Iterator[str]:
    """The moment in sentences."""
    yield (
        f"From {moment.first:g} to {moment.last:g} s: {moment.stroke}, four fifths of the work at "
        f"{units.span_text(moment.low, moment.high)}, at most {units.velocity_text(moment.fastest)} "
        f"{units.velocity_unit}, with the wheel at {units.travel_text(moment.travel_from)} to "
        f"{units.travel_text(moment.travel_to)}."
    )
    yield (
        f"{100 * moment.time_in_moment:.0f} % of the moment lies in this band, and "
        f"{100 * moment.time_in_run:.1f} % of the run; of the shaft's way in this band "
        f"{100 * moment.way_here:.0f} % is gone here."
    )


def job_lines(corner: str, moment: Moment) -> str:
    """The moment as lines of a job file's complaint, in the units that files have.

    Parameters
    ----------
    corner : whose moment it is.
    moment : with its band.
    """
    name = corner.replace("\\", "\\\\").replace('"', '\\"')
    return "\n".join(
        (
            "[complaint]",
            f'corner = "{name}"',
            f'stroke = "{moment.stroke}"',
            f"from_m_s = {moment.low:.3g}",
            f"to_m_s = {moment.high:.3g}",
        )
    )


def _beside(found: RunBeside, what: str) -> Table:
    table = Table(title=f"Share of time beside {what}, %", box=SIMPLE_HEAD, pad_edge=False)
    for name in ("band", "stroke"):
        table.add_column(name)
    for name in ("this run", what, "more"):
        table.add_column(name, justify="right")
    for one in found.shares:
        row = (
            one.band,
            one.stroke or "either",
            f"{100 * one.run:.1f}",
            f"{100 * one.other:.1f}",
            f"{100 * one.more:+.1f}",
        )
        table.add_row(*map(Text, row))
    return table


def beside_words(found: RunBeside, what: str, units: UnitSystem) -> Iterator[str]:
    """The rest of what two runs show beside one another, in sentences."""
    fastest = ", ".join(
        f"{stroke} {units.velocity_text(one)} and {units.velocity_text(other)} {units.velocity_unit}"
        for stroke, (one, other) in found.fastest.items()
    )
    yield (
        f"Fastest, this run and {what}: {fastest}. Deepest: {units.travel_text(found.deepest[0])} and "
        f"{units.travel_text(found.deepest[1])}."
    )
    if (both := found.in_time) is None:
        yield f"This run and {what} are not one ride in time, so that only shares are compared."
        return
    yield (
        f"In time they are one ride: over {both.seconds:.1f} s the wheel's travel is off by "
        f"{units.length_text(both.travel_error)} and shaft velocity by "
        f"{units.velocity_text(both.velocity_error)} {units.velocity_unit} (root mean square), this run "
        f"{abs(both.delay):.2f} s {'later' if both.delay >= 0 else 'earlier'}."
    )
