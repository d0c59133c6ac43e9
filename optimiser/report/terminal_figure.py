"""A figure of characters: begun empty, ended as text, velocities along its foot and forces beside it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import plotext

from optimiser.report.strokes import ticks_of
from optimiser.report.unit_system import UnitSystem

GLARING: Final = "\x1b[38;5;3m\x1b[48;5;15m"
"""What the library paints behind every upright line; on a dark terminal it would outshine the curves."""


def begun(title: str, size: tuple[int, int]) -> Any:
    """An empty figure.

    Parameters
    ----------
    title : above it.
    size : width and height, in characters.
    """
    figure = plotext.figure
    figure.clear()
    plotext.terminal.limit(False, False)
    figure.theme("colorless")
    figure.plot_size(*size)
    figure.title(title)
    return figure


def ended(figure: Any, *, units: UnitSystem, fastest: float, coloured: bool) -> str:
    """The figure as text, velocities written along its foot.

    Parameters
    ----------
    figure : with everything drawn.
    units : of the velocities.
    fastest : where the axis ends. [m/s]
    coloured : whether to keep colours.
    """
    ticks = ticks_of(units, units.velocity(fastest))
    figure.ruler("x").ticks([float(np.sqrt(tick)) for tick in ticks], [f"{tick:g}" for tick in ticks])
    text = str(figure.build())
    return text.replace(GLARING, "") if coloured else str(plotext.uncolorize(text))


def force_ticks(figure: Any, forces: Sequence[float]) -> None:
    """Write forces beside the figure, in the units of the drawing."""
    words = [f"{force:.3g}" if abs(force) < 100 else f"{force:.0f}" for force in forces]
    figure.ruler("y").ticks([*forces], words)
