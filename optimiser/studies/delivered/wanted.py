"""What a damper has to do at the wheel to suit a frame and rider, and what it does as it was delivered."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.damper import Damper
from damping_model.damper.force import boiling_between, force_curve
from damping_model.stack.steel import SpringSteel
from damping_model.vehicle.leverage import LeverageCurve
from optimiser.intake.bands import SIGN, Stroke
from optimiser.intake.carry import CarryBand, carry_over
from optimiser.intake.complaint import NamedBand
from optimiser.intake.felt import FeltPlace
from optimiser.intake.goal_builder import BOTH_STROKES, Forces
from optimiser.intake.promise import boiling_words, remedy_words
from optimiser.intake.suits import WantedBand
from optimiser.model.goal import Role, Window

STEEL = SpringSteel()


def forces_of(damper: Damper) -> Forces:
    """Damping forces [N] of a damper at signed shaft velocities [m/s]."""
    return lambda velocities: force_curve(damper, velocities=velocities, steel=STEEL).force_against_motion


def where_oil_boils(damper: Damper, velocities: NDArray[np.float64]) -> str:
    """Where oil would boil between the first and the last of shaft velocities [m/s]; empty if it does not."""
    span = float(velocities[0]), float(velocities[-1])
    found = boiling_between(damper, span, steel=STEEL)
    if not found:
        return ""
    where = "; ".join(boiling_words(one, to=abs(span[1])) for one in found)
    return f"{where}, in '{damper.name}', and no figure can be promised there. {remedy_words(found)}"


def wanted_as_known(
    damper: Damper,
    leverage: LeverageCurve,
    *,
    known: Damper,
    known_leverage: LeverageCurve,
    bands: Sequence[NamedBand],
    sag: float,
    tolerance: float,
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    """Windows at the shaft in which a damper feels at the wheel like a known-good one, and the reasons.

    Parameters
    ----------
    damper, leverage : the delivered damper and its frame.
    known, known_leverage : the reference and the frame that it is liked on.
    bands : of shaft velocity, seen from the wheel at sag.
    sag : of the delivered damper's frame, as wheel travel. [m]
    tolerance : of the wanted force. [-]
    """
    ratio = leverage.leverage_ratio(wheel_travel=sag)
    windows: list[Window] = []
    reasons: list[str] = []
    for stroke in BOTH_STROKES:
        for band in bands:
            speeds = SIGN[stroke] * np.geomspace(band.low, band.high, 5)
            name = f"{stroke} {band.name}"
            if boils := where_oil_boils(damper, speeds) or where_oil_boils(known, speeds):
                reasons.append(f"'{name}' is not judged: {boils}")
                continue
            wanted = CarryBand(name, stroke, band.low * ratio, band.high * ratio, tolerance)
            carried = carry_over(
                bands=[wanted],
                known=known_leverage,
                known_forces=forces_of(known),
                new=leverage,
                new_forces=forces_of(damper),
            )
            windows += carried.windows
            if not carried.reachable:
                reasons.append(carried.said)
    return tuple(windows), tuple(dict.fromkeys(reasons))


def wanted_as_felt(
    damper: Damper, place: FeltPlace, *, band: NamedBand, ratios: Mapping[Stroke, tuple[float, float]]
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    r"""Windows at the shaft in which the damping ratio at sag is usual, in the middle of a band, and reasons.

    Parameters
    ----------
    damper : as delivered.
    place : where damping is felt.
    band : of shaft velocity.
    ratios : least and most damping ratio, by stroke. [-]

    Notes
    -----
    With M the motion ratio and v the shaft velocity, :math:`F = 2 \zeta \sqrt{k_w m} v / M^2`.
    """
    forces, ratio = forces_of(damper), place.leverage.motion_ratio(wheel_travel=place.sag)
    critical = 2 * math.sqrt(place.wheel_rate * place.sprung_mass) / ratio**2
    speed = math.sqrt(band.low * band.high)
    windows, reasons = [], []
    for stroke, (least, most) in ratios.items():
        velocity = SIGN[stroke] * speed
        if boils := where_oil_boils(damper, np.array([velocity])):
            reasons.append(f"'{stroke} {band.name}' is not judged: {boils}")
            continue
        before = float(forces(np.array([velocity]))[0])
        low, high = critical * least * speed, critical * most * speed
        windows.append(
            Window(
                f"{stroke} {band.name}",
                Role.TARGET,
                (velocity,),
                (before,),
                (low,),
                (math.sqrt(low * high),),
                (high,),
            )
        )
    return tuple(windows), tuple(reasons)


def at_the_wheel(windows: Sequence[Window], *, leverage: LeverageCurve, sag: float) -> tuple[WantedBand, ...]:
    """Each window at its worst velocity, as forces at the wheel. [N]"""
    ratio = leverage.motion_ratio(wheel_travel=sag)
    return tuple(
        max(
            (
                WantedBand(window.name, ratio * low, ratio * high, ratio * got, abs(velocity) / ratio)
                for velocity, low, high, got in zip(
                    window.velocities, window.lower, window.upper, window.before, strict=True
                )
            ),
            key=lambda one: abs(one.off),
        )
        for window in windows
    )
