"""How one stack of a damper lifts: computed once, for the terminal, the picture and other programs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.friction import FrictionWidth, friction_width
from damping_model.stack.lift import LiftCurve, lift_curve
from damping_model.stack.lifted import GapClosure, gap_closures, lifted_shape
from damping_model.stack.packs import PackedStack
from damping_model.stack.steel import SpringSteel
from damping_model.stack.stress import ShimStress, shim_stresses
from damping_model.units import BAR, MEGAPASCAL, MILLIMETRE

FORMAT: Final = "shimwright lift 1"

PRESSURES: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class StackLift:
    """A stack under pressure.

    Parameters
    ----------
    path : the stack in its place.
    packed : its plates.
    curve : lift by pressure.
    closures : gaps that close on the way.
    stresses : highest stress in each shim at the highest pressure.
    width : what friction between shims may add or take, an estimate.
    steel : what the shims are made of.
    """

    path: ShimValve
    packed: PackedStack
    curve: LiftCurve
    closures: tuple[GapClosure, ...]
    stresses: tuple[ShimStress, ...]
    width: FrictionWidth
    steel: SpringSteel

    def shape(self, pack: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Radii and lift [m] of a pack at the highest pressure."""
        return lifted_shape(self.curve, place=-1, pack=pack)


def lift_of(path: ShimValve, *, highest: float, friction: float) -> StackLift:
    """Lift a stack up to a pressure.

    Parameters
    ----------
    path : the stack in its place.
    highest : where the ladder of pressures ends. [Pa]
    friction : coefficient between shims; 0 leaves it out. [-]
    """
    steel = SpringSteel()
    plates = path.packed(path.stack, steel=steel)
    seat, load = path.seat, path.face_pressure
    pressures = np.geomspace(highest / 100, highest, PRESSURES)
    curve = lift_curve(plates, seat=seat, load=load, pressures=pressures)
    return StackLift(
        path=path,
        packed=plates,
        curve=curve,
        closures=gap_closures(plates, seat=seat, load=load, highest=highest),
        stresses=shim_stresses(path.as_it_is(path.stack), plates, curve, steel=steel, place=-1),
        width=friction_width(plates, curve, seat=seat, load=load, coefficient=friction),
        steel=steel,
    )


def lift_document(damper: str, lifted: StackLift, *, svg: str) -> dict[str, Any]:
    """The documented keys of ``shimwright lift --json``."""
    curve, width = lifted.curve, lifted.width
    return {
        "format": FORMAT,
        "damper": damper,
        "stack": lifted.path.name,
        "picture": svg,
        "pressure_bar": [round(float(p) / BAR, 5) for p in curve.pressures],
        "lift_seat_mm": _millimetres(curve.seat_lift),
        "lift_edge_mm": _millimetres(curve.edge_lift),
        "lift_rising_mm": _millimetres(width.rising),
        "lift_falling_mm": _millimetres(width.falling),
        "gaps": [
            {
                "below_pack": gap.lower + 1,
                "above_pack": gap.upper + 1 if gap.upper >= 0 else None,
                "gap_mm": round(gap.gap / MILLIMETRE, 5),
                "closes_at_bar": None if gap.pressure is None else round(gap.pressure / BAR, 4),
                "bar_per_mm_before": _stiffness(gap.stiffness_before),
                "bar_per_mm_after": _stiffness(gap.stiffness_after),
            }
            for gap in lifted.closures
        ],
        "stress": [
            {
                "shim": stress.shim,
                "von_mises_mpa": round(stress.von_mises / MEGAPASCAL, 2),
                "radius_mm": round(stress.radius / MILLIMETRE, 3),
                "bending_mpa": round(stress.bending / MEGAPASCAL, 2),
                "membrane_mpa": round(stress.membrane / MEGAPASCAL, 2),
                "within_limit": stress.von_mises <= lifted.steel.fatigue_limit,
            }
            for stress in lifted.stresses
        ],
        "fatigue_limit_mpa": lifted.steel.fatigue_limit / MEGAPASCAL,
    }


def _stiffness(pascal_per_metre: float | None) -> float | None:
    return None if pascal_per_metre is None else round(pascal_per_metre * MILLIMETRE / BAR, 4)


def _millimetres(lengths: NDArray[np.float64]) -> list[float]:
    return [round(float(length) / MILLIMETRE, 6) for length in lengths]
