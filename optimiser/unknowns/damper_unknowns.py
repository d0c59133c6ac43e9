"""The unknown figures of a damper: those that nobody measured, and those that were, as well as one can."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

from damping_model.damper.damper import Damper
from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.steel import SpringSteel
from damping_model.units import MICROMETRE, celsius
from optimiser.model.damper_description import DamperDescription
from optimiser.model.unmeasured import Unmeasured
from optimiser.unknowns.strip_tolerance import StripClass, has_limit, thickness_limit
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution, Move, Owner, Unknown

ENDS: Final = 1.96
"""Standard deviations from the middle to the ends of what a figure that nobody measured may be. [-]

A file says 'so many percent off': taken as an interval that holds 19 in 20; common practice, no source.
"""

FRICTION_BETWEEN_SHIMS: Final = "interface_load"
"""The figure of a stack that friction between its shims moves."""

MOST_FRICTION: Final = 0.15
"""Highest coefficient of friction, steel on oiled steel; common practice, no source. [-]"""

LEAST_LOAD: Final = 1e-6
"""Load at an interface below which friction counts as this much, so that no unknown is without effect. [-]"""

BEYOND_THE_STANDARD: Final = 0.10
"""Limit of thickness as a share of it, where the standard has no row. [-]"""


class Usual(NamedTuple):
    """A figure of a part, and the uncertainty that measuring it leaves; common practice, no source.

    Parameters
    ----------
    figure : of the model's value.
    words : what it is, as a person says it.
    uncertainty : standard deviation, as :class:`Unknown` takes it.
    keys : figures of the file that move it, with the power that they do so by.
    move : how a draw moves it.
    limits : least and most that it can be.
    guessed : least uncertainty where nobody measured it; a share of a figure of 0 would say nothing.
    """

    figure: str
    words: str
    uncertainty: float
    keys: tuple[tuple[str, float], ...]
    move: Move = Move.FACTOR
    limits: tuple[float, float] = (-math.inf, math.inf)
    guessed: float = 0.0


_DISCHARGE: Final = (0.31, 1.0)
"""Discharge coefficients that the model takes. [-]"""

_OF_PATHS: Final[dict[type, tuple[Usual, ...]]] = {
    ShimValve: (
        Usual("port_area", "port area", 0.03, (("port_area", 1),)),
        Usual("port_discharge", "discharge of the ports", 0.05, (("port_discharge", 1),), limits=_DISCHARGE),
        Usual(
            "curtain_discharge",
            "discharge past the face shim",
            0.06,
            (("curtain_discharge", 1), ("open_share", 1)),
            limits=_DISCHARGE,
        ),
        Usual("clamp_radius", "clamp diameter", 0.01, (("clamp_diameter", 1),)),
        # a dial gauge of 0.01 mm, read on the seat and on the hub
        Usual("seat_height", "height of the seat", 5e-6, (("seat_proud", 1),), Move.SHIFT, guessed=15e-6),
    ),
    Bleed: (Usual("diameter", "diameter", 0.02, (("diameter", 1),)),),
    Clicker: (
        Usual("areas", "open areas", 0.08, (("area", 1),)),
        Usual("needle", "needle's place, in clicks", 0.25, (), Move.SHIFT),
    ),
    RingLeak: (Usual("clearance", "clearance", 0.15, (("clearance", 1),)),),
    CheckPlate: (
        Usual("port_area", "port area", 0.05, (("port_area", 1),)),
        Usual("spring_rate", "spring rate", 0.10, (("spring_rate", 1),)),
    ),
}

_OF_THE_DAMPER: Final = (
    Usual("swept_area", "swept area", 0.003, (("piston_diameter", 2),)),
    Usual("temperature", "temperature of the oil", 3.0, (("temperature", 1),), Move.SHIFT),
    Usual("gas_pressure", "gas pressure", 0.05, (("gas_pressure", 1),)),
    Usual("friction", "friction", 0.25, (("friction", 1),)),
)
_OF_THE_OIL: Final = (Usual("viscosity", "viscosity", 0.05, (("viscosity", 1), ("iso_vg", 1))),)
_OF_THE_STEEL: Final = (Usual("youngs_modulus", "modulus of the steel", 0.02, ()),)


def damper_unknowns(
    described: DamperDescription,
    *,
    comes: Iterable[float] = (),
    strip: StripClass = StripClass.PRECISION,
) -> tuple[Unknown, ...]:
    """The unknown figures of a damper.

    Parameters
    ----------
    described : the damper with what its file says was not measured.
    comes : nominal thicknesses of the shelf's shims that may come into it. [m]
    strip : class of the strip that shims are punched from.
    """
    damper, noted = described.damper, described.not_measured
    found = [
        *_of_part(Owner.DAMPER, "", damper, _OF_THE_DAMPER, noted),
        *_of_part(Owner.OIL, "oil", damper.oil, _OF_THE_OIL, noted),
        *_of_part(Owner.STEEL, "", None, _OF_THE_STEEL, ()),
    ]
    for path in damper.paths:
        found += _of_part(path.name, path.name, path, _OF_PATHS[type(path)], noted)
    found += (_friction_in(path) for path in damper.stacks if len(path.stack.shims) > 1)
    inside = (shim.thickness for path in damper.stacks for shim in path.stack.shims)
    found += _of_shims(Owner.SHIMS_INSIDE, inside, strip)
    found += _of_shims(Owner.SHIMS_OF_THE_SHELF, comes, strip)
    return tuple(found)


def _of_part(
    owner: Owner | str, name: str, value: object, usual: Iterable[Usual], noted: Sequence[Unmeasured]
) -> Iterator[Unknown]:
    for one in usual:
        said = [
            (found.off, power) for key, power in one.keys for found in noted if _is(found, name, key, value)
        ]
        uncertainty = one.uncertainty
        if said and one.move is Move.FACTOR:
            uncertainty = math.hypot(*(power * math.log1p(off) for off, power in said)) / ENDS
        elif said:
            uncertainty = max(uncertainty, one.guessed, said[0][0] * abs(_in_file(value, one)) / ENDS)
        of_what = f" of '{name}'" if isinstance(owner, str) else ""
        yield Unknown(
            owner=owner,
            figure=one.figure,
            words=f"{one.words}{of_what}",
            uncertainty=uncertainty,
            move=one.move,
            limits=_limits(one, value),
            measured=not said,
        )


def _limits(usual: Usual, value: object) -> tuple[float, float]:
    """Least and most of a figure; a clamp ends where the ports begin."""
    if isinstance(value, ShimValve) and usual.figure == "clamp_radius":
        return 0.0, value.port_inner_radius
    return usual.limits


def _is(found: Unmeasured, name: str, key: str, value: object) -> bool:
    """Whether a figure that was not measured is that of a part; the damper's lie in several tables."""
    if isinstance(value, Damper):
        return found.figure == key and found.part in {"", "oil", "reservoir"}
    return found.figure == key and found.part == name


def _in_file(value: object, usual: Usual) -> float:
    """The figure as a damper file counts it, up to its unit: temperatures from the freezing point."""
    if isinstance(value, ShimValve):
        return value.seat.seat_height
    return celsius(kelvin=getattr(value, usual.figure))


def _friction_in(path: ShimValve) -> Unknown:
    """Friction between the shims of a stack: it holds an opening stack down and a closing one up.

    Parallel disc springs, oiled, have 0.005 to 0.03 an interface. Flat thin shims slide less: equation (19)
    gives them 0.002 to 0.007 at the highest coefficient that is common practice, which is taken here.
    """
    most = path.load_of_interface(coefficient=MOST_FRICTION, steel=SpringSteel())
    return Unknown(
        owner=path.name,
        figure=FRICTION_BETWEEN_SHIMS,
        words=f"friction between the shims of '{path.name}'",
        uncertainty=max(most, LEAST_LOAD) / RECTANGULAR_END,
        move=Move.SHIFT,
        distribution=Distribution.RECTANGULAR,
        measured=False,
        source="equation (19), coefficient of common practice",
    )


def _of_shims(batch: Owner, thicknesses: Iterable[float], strip: StripClass) -> Iterator[Unknown]:
    """One error for each thickness: shims of one thickness come from one coil; common practice, no source."""
    for nominal in sorted({round(thickness / MICROMETRE) for thickness in thicknesses}):
        yield Unknown(
            owner=batch,
            figure=str(nominal),
            words=f"thickness of the {nominal / 1000:g} mm {batch.value}",
            uncertainty=shim_uncertainty(thickness=nominal * MICROMETRE, strip=strip),
            move=Move.SHIFT,
            distribution=Distribution.RECTANGULAR,
            measured=False,
            source="EN 10258, " + strip.value,
        )


def shim_uncertainty(*, thickness: float, strip: StripClass = StripClass.PRECISION) -> float:
    """Standard uncertainty of a nominal thickness that nobody measured, between its limits. [m]

    Parameters
    ----------
    thickness : nominal. [m]
    strip : class of the strip.
    """
    limit = BEYOND_THE_STANDARD * thickness
    if has_limit(thickness=thickness):
        limit = thickness_limit(thickness=thickness, strip=strip)
    return limit / RECTANGULAR_END
