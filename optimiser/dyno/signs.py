"""Which way round the channels are: a damper takes power, and its gas pushes the shaft out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats, Settled
from optimiser.dyno.near_zero import at_rest
from optimiser.dyno.strokes import Motion, cycles_of
from optimiser.errors import InputError

LEAST_SHARE: Final = 0.1
"""Of all force times velocity, without regard to sign, has to be taken or given: less is no damper. [-]"""

ONE_SIDED: Final = 0.9
"""Of the strokes have to agree. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What makes a file's figures positive in compression.

    Parameters
    ----------
    force, travel : 1 or -1.
    notes : how they were found.
    """

    force: float
    travel: float
    notes: tuple[str, ...]


def power_share(velocity: Floats, force: Floats) -> float:
    """Power that the damper takes, as a share of all that goes to and fro: 1 for a pure damper. [-]

    Parameters
    ----------
    velocity, force : over whole cycles (samples,). [m/s], [N]
    """
    swing = force - (force.max() + force.min()) / 2
    through = float(np.abs(swing * velocity).sum())
    return float((swing * velocity).sum()) / through if through else 0.0


def signs_of(motions: Sequence[Motion], settled: Settled, *, place: str) -> Signs:
    """Signs of the two channels of a file, which are the same in all its recordings.

    Parameters
    ----------
    motions : of every recording, each with a whole cycle at least.
    settled : what a person says.
    place : where they stand, for messages.

    Raises
    ------
    InputError
        When force does not go with velocity in any recording, or recordings of one file contradict.
    """
    shares = [_share(one) for one in motions]
    for share in shares:
        if abs(share) < LEAST_SHARE:
            raise InputError(
                f"{place}: force and velocity do not go together: of the power that goes to and fro only "
                f"{100 * abs(share):.0f} % stays. Expected a damper, which takes power. Are the columns "
                "the right ones, in one time, and the springs off?"
            )
    if len({share > 0 for share in shares}) > 1:
        raise InputError(
            f"{place}: some runs take power and others hand it out, expected the channels of one file to be "
            "wired alike. Put the runs in files of their own."
        )
    takes = shares[0] > 0
    out = _out(motions)
    return _settled(takes, out, settled, place)


def table_signs(
    slope: float, rest: float | None, settled: Settled, *, place: str, named: bool = False
) -> Signs:
    """Signs of the columns of a table.

    Parameters
    ----------
    slope : of force against velocity: negative where one of the two is the wrong way round.
    rest : force at rest with the file's sign, where the table has it and friction cannot reverse it. [N]
    settled, place : as :func:`signs_of` has them.
    named : whether the columns name their strokes, so that only the force can be the wrong way round.
    """
    if named and settled.force_sign is None and settled.travel_sign is None:
        said = "The columns name the strokes."
        return Signs(force=float(np.sign(slope)), travel=1.0, notes=(said,))
    return _settled(slope > 0, None if rest is None else float(np.sign(rest)), settled, place)


def turned(motion: Motion, signs: Signs) -> Motion:
    """The same recording, positive in compression."""
    return replace(
        motion,
        displacement=signs.travel * motion.displacement,
        velocity=signs.travel * motion.velocity,
        force=signs.force * motion.force,
        strokes=tuple(replace(one, sign=signs.travel * one.sign) for one in motion.strokes),
    )


def _share(motion: Motion) -> float:
    """Power share of the middle cycle, so that a spike does not count; nothing if cycles disagree. [-]"""
    shares = np.array(
        [
            power_share(motion.velocity[part], motion.force[part])
            for start in cycles_of(motion.strokes)
            for part in (slice(motion.strokes[start].first, motion.strokes[start + 1].last),)
        ]
    )
    middle = float(np.median(shares))
    return middle if np.mean(shares * middle > 0) >= ONE_SIDED else 0.0


def _out(motions: Sequence[Motion]) -> float | None:
    """Sign of the force at rest, as the file has it; None where no recording is slow enough to tell."""
    found = [one for one in map(at_rest, motions) if one is not None]
    clear = [one for one in found if abs(one.gas) > 2 * one.plus_minus]
    best = min(clear, key=lambda one: one.plus_minus / abs(one.gas), default=None)
    return None if best is None else float(np.sign(best.gas))


def _settled(takes: bool, out: float | None, settled: Settled, place: str) -> Signs:
    """Signs from power and gas, with what a person says in their place."""
    force, travel = settled.force_sign, settled.travel_sign
    together = 1.0 if takes else -1.0
    if force is not None and travel is not None and force * travel != together:
        raise InputError(
            f"{place}: with the signs as you say the damper would hand out power, expected one that takes "
            "it. Turn one of the two round."
        )
    power = "A damper takes power, and so do force and velocity as they stand"
    if not takes:
        power = (
            "Force times velocity is negative, but a damper takes power: one of them is the wrong way round"
        )
    if force is not None or travel is not None:
        force = together * float(travel or 1.0) if force is None else force
        return Signs(force=force, travel=together * force, notes=(f"{power}; the other sign is as you say.",))
    if out is not None:
        force = out
        which = _which(force, together * force)
        return Signs(
            force=force,
            travel=together * force,
            notes=(f"{power}. The gas pushes the shaft out, which tells the strokes apart: {which}.",),
        )
    words = "" if takes else "; the force is turned round"
    said = (
        f"{power}{words}. Which stroke is compression is not proven by these figures: a rising "
        "displacement, or a positive velocity, is taken as compression. If it is not, say --compression "
        "negative."
    )
    return Signs(force=together, travel=1.0, notes=(said,))


def _which(force: float, travel: float) -> str:
    names = [name for name, sign in (("force", force), ("displacement", travel)) if sign < 0]
    return "both columns are as they should be" if not names else f"turned round: {' and '.join(names)}"
