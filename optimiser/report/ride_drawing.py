"""One event as a picture: wheel travel over time, before and after, in the terminal and as SVG."""

from __future__ import annotations

from typing import Final

import numpy as np
from markupsafe import Markup

from optimiser.jobs.ride_job import EventRidden, JobRide
from optimiser.report.figure import panelled
from optimiser.report.ladder_text import effort_words
from optimiser.report.unit_system import UnitSystem
from optimiser.ride.telling import Told

BEFORE, AFTER, PALE = "#8a8a8a", "#12324f", "#bbbbbb"
MARKS: Final = (".", "#", "o", "x", "+")
"""Of the damper as it is, then of the steps of effort."""

HEIGHT: Final = 14


def travel_text(ride: JobRide, event: EventRidden, *, units: UnitSystem, width: int) -> str:
    """Wheel travel over time, deep below, each damper with a mark of its own.

    Parameters
    ----------
    ride : what was ridden.
    event : of it.
    units : what the axis is written in.
    width : in characters.
    """
    from plotext import uncolorize  # noqa: PLC0415 (takes long to load, and a sheet has no drawing of it)

    from optimiser.report.terminal_figure import begun  # noqa: PLC0415

    title = f"{event.event.name}: wheel travel, {units.length_unit} (deeper below), against time, s"
    figure = begun(title, (max(width, 40), HEIGHT))
    for mark, (_, told) in zip(MARKS, _named(ride, event), strict=False):
        times, travel = _thinned(told, 4 * width)
        depth = [-units.length(float(x)) for x in travel]
        figure.draw(figure.signal([float(t) for t in times], depth, marker=mark))
    one = event.before.figures
    places = sorted({0.0, one.rest, one.travel})
    figure.ruler("y").ticks([-units.length(x) for x in places], [f"{units.length(x):.0f}" for x in places])
    names = "\n".join(f"{mark}  {name}" for mark, (name, _) in zip(MARKS, _named(ride, event), strict=False))
    return f"{uncolorize(figure.build())}\n{names}"


def travel_svg(ride: JobRide, event: EventRidden, *, units: UnitSystem, place: int | None = None) -> Markup:
    """The same as a picture; full extension above, the end of the travel below.

    Parameters
    ----------
    ride : what was ridden.
    event : of it.
    units : what the axis is written in.
    place : of the step of effort that is drawn; None for all.
    """
    named = list(_named(ride, event))
    if place is not None:
        named = [named[0], named[1 + place]]
    one = event.before.figures
    with panelled(1, f"{event.event.name}: wheel travel before and after", 0) as (figure, panels, out):
        figure.set_size_inches(5.6, 2.3)
        axes = panels[0]
        for value in (one.rest, one.travel):
            axes.axhline(units.length(value), color=PALE, linewidth=0.8, linestyle=(0, (2, 3)))
        styles = ["-", "--", ":", "-.", "-"]
        for number, (name, told) in enumerate(named):
            times, travel = _thinned(told, 800)
            axes.plot(
                times,
                [units.length(float(x)) for x in travel],
                color=BEFORE if number == 0 else AFTER,
                linewidth=1.4,
                linestyle=styles[max(number - 1, 0) % len(styles)],
                label=name,
            )
        axes.invert_yaxis()
        axes.set_ylabel(f"wheel travel, {units.length_unit}")
        axes.set_xlabel(f"{event.event.name}: time, s; dotted: at rest, and the end of the travel")
        axes.legend(fontsize=9, loc="best")
    return out[0]


def _named(ride: JobRide, event: EventRidden) -> list[tuple[str, Told]]:
    steps = [effort_words(step.changes) for step in ride.steps]
    return [("as it is", event.before), *zip(steps, event.after, strict=True)]


def _thinned(one: Told, most: int) -> tuple[np.typing.NDArray[np.float64], np.typing.NDArray[np.float64]]:
    step = max(one.times.size // most, 1)
    return one.times[::step], one.travel[::step]
