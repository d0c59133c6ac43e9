"""What is known of a run before its figures are looked at, from its file and from a person."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFacts:
    """What is told of a run beside its figures; None where nothing is.

    Parameters
    ----------
    clicks : clicks out by adjuster.
    temperature : of the damper. [K]
    gas_pressure : gauge. [Pa]
    stroke : from end to end. [m]
    claimed_rate : samples a second that the file claims; it is only held beside the time column. [1/s]
    notes : what reading them has to say.
    """

    clicks: Mapping[str, int] = field(default_factory=dict)
    temperature: float | None = None
    gas_pressure: float | None = None
    stroke: float | None = None
    claimed_rate: float | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Given(RunFacts):
    """What a file says of one of its runs.

    Parameters
    ----------
    name : of the run.
    source : the file.
    lines : first and last line of the run in it, counted from 1.
    """

    name: str
    source: str
    lines: tuple[int, int]

    @property
    def place(self) -> str:
        """Where the run stands, for messages."""
        return f"{self.source}:{self.lines[0]}-{self.lines[1]}: run '{self.name}'"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What a person settles instead of letting it be derived; None leaves it to the data.

    Parameters
    ----------
    sample_rate : of every recording, in the place of its time column. [1/s]
    force_sign, travel_sign : 1 or -1 times what the file holds is positive in compression.
    mid_stroke : displacement at which the force is read, as in the file. [m]
    continuous : whether a table of velocity and force is a continuous plot.
    warm_up : cycles dropped at the beginning of each speed.
    gas_force, friction_force : that are taken off. [N]
    """

    sample_rate: float | None = None
    force_sign: float | None = None
    travel_sign: float | None = None
    mid_stroke: float | None = None
    continuous: bool | None = None
    warm_up: int | None = None
    gas_force: float | None = None
    friction_force: float | None = None


NOTHING_SETTLED = Settled()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """Samples of one run as its file holds them, in SI, with the signs of the file.

    Parameters
    ----------
    given : what the file says of it.
    time : of every sample (samples,), or None. [s]
    displacement : of the shaft (samples,). [m]
    force : (samples,). [N]
    """

    given: Given
    time: Floats | None
    displacement: Floats
    force: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VelocityTable:
    """Rows of velocity and force of one run, in SI, with the signs of the file.

    Parameters
    ----------
    given : what the file says of it.
    velocity : (rows,), in the order of the file. [m/s]
    force : (rows,). [N]
    ends_cut : whether the file ends in the middle of the last row, so that its figures may be cut off.
    strokes_named : whether the file says which rows are compression, so that nothing has to prove it.
    """

    given: Given
    velocity: Floats
    force: Floats
    ends_cut: bool = False
    strokes_named: bool = False
