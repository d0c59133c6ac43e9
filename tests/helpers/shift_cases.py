"""Changes of bands by changed stacks of a twin: what a fit says of them, what is known without, what is true."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.stack.stack import Stack
from optimiser.fit.fit import Fit
from optimiser.fit.run_model import RunModel, askings
from optimiser.model.damper_description import with_stack
from optimiser.spread.directions import Directions
from optimiser.unknowns.damper_unknowns import ENDS
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import Owner
from tests.helpers.fit_twins import Hidden

Floats = NDArray[np.float64]

BANDS: Final = ((0.05, 0.15), (0.15, 0.6))
"""Ends of bands of either stroke. [m/s]"""

POINTS: Final = 4
"""Velocities in each. [-]"""

LEAST: Final = 0.005
"""A band that a stack moves by less is no case. [-]"""

READING: Final = 1e-6
"""Standard deviation of what a micrometer reads of a thickness. [m]"""

DRAWS: Final = 2000
TAIL: Final = 0.025

VELOCITIES: Final = np.concatenate(
    [sign * np.geomspace(*ends, POINTS) for sign in (1.0, -1.0) for ends in BANDS]
)


@dataclass(frozen=True, kw_only=True)
class ShiftCase:
    """A band's change that a fit predicted.

    Parameters
    ----------
    stack : which changed stack of the twin.
    shift : the true change of the band's mean logarithm of force. [-]
    inside : whether it lies in the fit's interval.
    width : of that interval. [-]
    narrower : the same over the width without a fit. [-]
    with_readings : the same where a micrometer also read every thickness in the damper, to a micrometre. [-]
    """

    stack: int
    shift: float
    inside: bool
    width: float
    narrower: float
    with_readings: float


def changed_stack(stack: Stack, rng: np.random.Generator) -> Stack:
    """A stack with one or two shims out, or of its own types in, the face and the clamp shim left alone."""
    shims = list(stack.shims)
    for _ in range(int(rng.integers(1, 3))):
        place = int(rng.integers(1, len(shims) - 1))
        if rng.random() < 0.5 and len(shims) > 4:
            shims.pop(place)
        else:
            shims.insert(place, shims[place])
    return Stack(tuple(shims))


def shift_cases(twin: Hidden, fit: Fit, *, count: int, seed: int) -> list[ShiftCase]:
    """Every band that is moved by half a per cent or more by so many changed stacks.

    Shims that come are of the coil that those inside are of: what the shelf's differ by, no run can tell. The
    same stacks of before serve for all changes; draws move bands in a straight line about where they stand.
    """
    rng = np.random.default_rng(seed)
    damper, known = twin.described.damper, fit.knowledge
    read = _with_readings(known)
    draws, nothing = _draws(known, seed), _draws(Knowledge.prior(known.unknowns), seed)
    before = _Moves.of(twin, damper, known.mean)
    found: list[ShiftCase] = []
    stacks = 0
    while stacks < count:
        mounted = twin.described.stacks[rng.integers(len(twin.described.stacks))]
        stack = changed_stack(mounted.stack, rng)
        if stack == mounted.stack:
            continue
        moves = _Moves.of(twin, with_stack(damper, mounted.name, stack), known.mean).less(before)
        moved = [place for place, true in enumerate(moves.true) if abs(true) >= LEAST]
        for place in moved:
            low, high = np.quantile(draws @ moves.slopes[place], [TAIL, 1 - TAIL])
            without = float(np.ptp(np.quantile(nothing @ moves.slopes_before[place], [TAIL, 1 - TAIL])))
            slopes = moves.slopes[place]
            found.append(
                ShiftCase(
                    stack=stacks,
                    shift=float(moves.true[place]),
                    inside=bool(low <= moves.true[place] - moves.told[place] <= high),
                    width=float(high - low),
                    narrower=float(high - low) / without,
                    with_readings=2 * ENDS * math.sqrt(float(slopes @ read @ slopes)) / without,
                )
            )
        stacks += bool(moved)
    return found


def _draws(known: Knowledge, seed: int) -> Floats:
    """Draws of what is known, less their mean (draws, unknowns)."""
    directions = Directions.of(known)
    return directions.sample(DRAWS, np.random.default_rng(seed)) @ directions.axes


def _with_readings(known: Knowledge) -> Floats:
    """Covariance of the draws once every thickness in the damper has been read (unknowns, unknowns)."""
    shims = [place for place, one in enumerate(known.unknowns) if one.owner is Owner.SHIMS_INSIDE]
    across = known.covariance[:, shims]
    errors = np.diag([(READING / known.unknowns[place].uncertainty) ** 2 for place in shims])
    return np.asarray(known.covariance - across @ np.linalg.solve(across[shims] + errors, across.T))


@dataclass(frozen=True, kw_only=True)
class _Moves:
    """Means of the bands' logarithms (bands,) and what draws do to them (bands, unknowns).

    Parameters
    ----------
    true, told : with the hidden draws, and with those of a fit.
    slopes, slopes_before : about those of the fit, and about none.
    """

    true: Floats
    told: Floats
    slopes: Floats
    slopes_before: Floats

    @classmethod
    def of(cls, twin: Hidden, damper: Damper, told: Floats) -> _Moves:
        model = RunModel(damper, twin.unknowns, askings([((), damper.temperature, VELOCITIES)]))
        return cls(
            true=_by_band(model.logarithms(twin.draws)),
            told=_by_band(model.logarithms(told)),
            slopes=_by_band(model.slopes(told)),
            slopes_before=_by_band(model.slopes(np.zeros_like(told))),
        )

    def less(self, other: _Moves) -> _Moves:
        return _Moves(
            true=self.true - other.true,
            told=self.told - other.told,
            slopes=self.slopes - other.slopes,
            slopes_before=self.slopes_before - other.slopes_before,
        )


def _by_band(values: Floats) -> Floats:
    return np.asarray(values.reshape(-1, POINTS, *values.shape[1:]).mean(axis=1))
