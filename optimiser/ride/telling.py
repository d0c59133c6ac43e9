"""A damper in an event: its figures, where its energy went, and what a change makes of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.intake.bands import Stroke
from optimiser.intake.complaint import NamedBand
from optimiser.intake.goal_builder import BOTH_STROKES
from optimiser.ride.as_ridden import AsRidden
from optimiser.ride.energy_window import EnergyWindow, energy_window
from optimiser.ride.events import EventKind, FeltLimits, FigureName, RideEvent
from optimiser.ride.figures import RideFigures, figures_of
from optimiser.ride.ridden import ridden_event, ride

SAID: Final[Mapping[EventKind, tuple[FigureName, ...]]] = {
    "braking": ("travel used", "settles after", "least tyre load"),
    "driving": ("travel used", "settles after", "least tyre load"),
    "turning": ("travel used", "back after"),
    "pedalling": ("swing", "least tyre load"),
    "square edge": ("hardest push", "travel used", "settles after", "least tyre load"),
    "rollers": ("travel used", "sinks in", "fastest rebound", "acceleration", "end force"),
    "landing": ("travel used", "end force", "settles after", "hardest push"),
    "hollow": ("travel used", "settles after", "end force"),
    "lip": ("fastest rebound", "travel used"),
    "rough road": ("acceleration", "spread of tyre load", "travel used"),
}
"""Which figures of each kind of event are told, the first first."""

FELT_AS: Final[Mapping[FigureName, str]] = {
    "travel used": "travel",
    "settles after": "time",
    "back after": "time",
    "swing": "travel",
    "sinks in": "travel",
    "fastest compression": "velocity",
    "fastest rebound": "velocity",
    "least tyre load": "tyre_load",
    "spread of tyre load": "tyre_load",
    "acceleration": "acceleration",
    "hardest push": "acceleration",
    "end force": "end_force",
}
"""The limit of what is felt that each figure is held against."""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """One damper in one event.

    Parameters
    ----------
    figures : of the corner.
    windows : where its energy goes, by stroke.
    times, travel : of the wheel, for a picture. [s], [m]
    imbalance : of the energy of the ride, over its throughput. [-]
    """

    figures: RideFigures
    windows: tuple[EnergyWindow, ...]
    times: np.typing.NDArray[np.float64]
    travel: np.typing.NDArray[np.float64]
    imbalance: float

    def window(self, stroke: Stroke) -> EnergyWindow | None:
        """Where the energy of a stroke goes; None where the damper takes none."""
        return next((one for one in self.windows if one.stroke == stroke), None)


@dataclass(frozen=True, slots=True)
class FigureChange:
    """What a change of damper does to one figure.

    Parameters
    ----------
    name : of the figure.
    before, after : in SI; None where there is none.
    felt : whether a rider feels it.
    """

    name: FigureName
    before: float | None
    after: float | None
    felt: bool


def told(event: RideEvent, on: AsRidden, *, bands: Sequence[NamedBand]) -> Told:
    """Ride an event and tell what happened.

    Raises
    ------
    InputError
        When the event lacks a number, or the machine cannot meet it.
    ModelError
        When the machine rests nowhere in its travel, or the ride cannot be computed.
    """
    ready = ridden_event(event, on)
    motion = ride(ready, on)
    windows = (energy_window(motion, ready, on, stroke=stroke) for stroke in BOTH_STROKES)
    return Told(
        figures=figures_of(motion, ready, on, bands=bands),
        windows=tuple(one for one in windows if one is not None),
        times=motion.times,
        travel=motion.travel(on.own),
        imbalance=motion.energy().imbalance,
    )


def changes(
    kind: EventKind, before: RideFigures, after: RideFigures, *, felt: FeltLimits
) -> tuple[FigureChange, ...]:
    """What becomes of the figures that an event is told by.

    Parameters
    ----------
    kind : of the event.
    before, after : its figures.
    felt : smaller differences are not felt.
    """
    return tuple(_changes(kind, before, after, felt))


def _changes(
    kind: EventKind, before: RideFigures, after: RideFigures, felt: FeltLimits
) -> Iterator[FigureChange]:
    for name in SAID[kind]:
        one, other = before.of(name), after.of(name)
        limit = getattr(felt, FELT_AS[name])
        noticed = (one is None) != (other is None)
        if one is not None and other is not None:
            noticed = abs(other - one) >= limit
        yield FigureChange(name, one, other, noticed)
