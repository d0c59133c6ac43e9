"""A stack as plates: neighbouring shims of one diameter are a pack, and a pack bends as one plate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import GeometryError
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.stack_check import SAME, check_stack, is_ring
from damping_model.stack.steel import SpringSteel

Merge = Literal["thickness", "diameter", "none"]
"""Which neighbours are one plate: those of one diameter and thickness; those of one diameter; none."""

RING: Final = -1
"""Stands for a ring where a shim's pack is asked for."""

THINNEST: Final = 2e-6
"""A shim thinner than this is height and nothing else: foil, whose stiffness no stack would notice. [m]"""

KEPT_PLATES: Final = 4096
"""Plates that are kept: a search packs the same few shims again and again. [-]"""

NOMINAL_THICKNESS: Final = 0.15e-3
"""Thickness that the indentation of faces in contact is taken for, the same in every stack. [m]"""


class Pack(NamedTuple):
    """Neighbouring shims that bend as one plate. Any values will do: it may be one that no shelf could build.

    A pack without stiffness is height and nothing else; without height too it is as good as absent.

    Parameters
    ----------
    outer_radius : radius of the rim. [m]
    bending : sum of the shims' D. [N m]
    stretching : sum of the shims' C. [N/m]
    shear : stiffness in transverse shear; infinite in the thin-plate limit. [N/m]
    height : sum of the thicknesses. [m]
    """

    outer_radius: float
    bending: float
    stretching: float
    shear: float
    height: float


class PreloadRing(NamedTuple):
    """A ring that lies around a centring pack and stands proud of it, or short of it.

    Parameters
    ----------
    centring : place of the centring pack in the list of packs.
    inner_radius, outer_radius : where the ring bears. [m]
    height : thickness of the ring. [m]
    """

    centring: int
    inner_radius: float
    outer_radius: float
    height: float


@dataclass(frozen=True, slots=True, eq=False)
class PackedStack:
    """What the plate model needs to know of a stack.

    Parameters
    ----------
    rows : one for each pack, from the piston outwards, as compiled code takes them: the figures of a
        :class:`Pack` (packs, 5).
    rings : preload rings among them.
    poisson_ratio : of the steel. [-]
    face_thickness : thickness of the shim that lies on the piston. [m]
    indentation : how far two faces in contact indent by each other's pressure; k of equation (10). [m/Pa]
    thin : leave out what the thickness of faces in contact adds (the thin-plate limit).
    places : for each shim of the stack the place of its pack; -1 for a ring.
    """

    rows: NDArray[np.float64]
    rings: tuple[PreloadRing, ...] = ()
    poisson_ratio: float = 0.3
    face_thickness: float = 0.0
    indentation: float = 0.0
    thin: bool = False
    places: tuple[int, ...] = ()

    def __eq__(self, other: object) -> bool:
        """Whether all figures are the same, bit for bit."""
        return isinstance(other, PackedStack) and self._figures == other._figures

    def __hash__(self) -> int:
        """Of all figures."""
        return hash(self._figures)

    @property
    def _figures(self) -> tuple[object, ...]:
        steel = self.poisson_ratio, self.indentation, self.thin
        return self.rows.tobytes(), self.rings, self.face_thickness, *steel, self.places

    @property
    def packs(self) -> tuple[Pack, ...]:
        """The rows by the names of their figures."""
        return tuple(map(Pack._make, self.rows.tolist()))

    def with_packs(self, packs: Sequence[Pack]) -> PackedStack:
        """The same with other packs; a ring is centred by the one at its place."""
        return replace(self, rows=rows_of(packs))


def pack_stack(
    stack: Stack, *, clamp_radius: float, steel: SpringSteel, merge: Merge = "thickness", thin: bool = False
) -> PackedStack:
    r"""Plates that a stack amounts to.

    Parameters
    ----------
    stack : shims from the piston outwards.
    clamp_radius : nothing moves within it. [m]
    steel : what the shims are made of.
    merge : which neighbours are one plate. ``"thickness"``: those of one diameter and thickness.
        ``"diameter"``: all of one diameter, so that their order counts for nothing; in truth thin shims on
        the piston's side part from thicker ones behind them once the lift is several times their thickness,
        and lift less. ``"none"``: every shim is its own.
    thin : thin-plate limit: no transverse shear, and faces in contact share one deflection.

    Returns
    -------
    PackedStack

    Raises
    ------
    GeometryError
        When there is no face shim, a dimension is not a length, or a ring has nothing to centre it.

    Notes
    -----
    Shims of a pack share one deflection, so their bending and stretching stiffness add and the shear force
    parts by bending stiffness: :math:`1/S = \sum D_i^2/S_i \,/\, (\sum D_i)^2`, equation (3). A shim no wider
    than the clamp is height only.

    A face under pressure q, with the stress falling through the thickness t as the cubic of plate theory,
    comes nearer to the plate's middle by :math:`13/32\,q t/E`. It counts where a crossover's rim is squeezed
    between wide packs: its clamping edge moves inwards, by 1 to 2 % of the lift before the gap has closed.
    One thickness serves for all stacks, so that stacks differ by their plates alone; twice as much of it
    moves no reference case by more than 0.7 %. That is k of equation (10).

    Examples
    --------
    Two shims alike bend as one plate, twice as stiff as either:

    >>> one, two = (Stack((Shim(20e-3, 0.1e-3, 8e-3),) * count) for count in (1, 2))
    >>> plates = [pack_stack(stack, clamp_radius=5e-3, steel=SpringSteel()) for stack in (one, two)]
    >>> [len(found.packs) for found in plates]
    [1, 1]
    >>> plates[1].packs[0].bending / plates[0].packs[0].bending
    2.0
    """
    check_stack(stack, clamp_radius)
    shims = stack.shims
    groups: list[list[Shim]] = []
    places: list[int] = []
    before: Shim | None = None
    for shim in shims:
        if is_ring(shim, clamp_radius):
            places.append(RING)
            before = None
            continue
        if before is None or not _joins(before, shim, merge):
            groups.append([])
        groups[-1].append(shim)
        places.append(len(groups) - 1)
        before = shim
    packs = [_pack(tuple(group), steel, thin) for group in groups]
    centred = {i: _centring_place(shims, i, clamp_radius) for i, place in enumerate(places) if place == RING}
    for i, centre in centred.items():
        _bears(shims, i, places[centre], packs)
    rings = tuple(
        PreloadRing(
            places[centre], shims[i].inner_diameter / 2, shims[i].outer_diameter / 2, shims[i].thickness
        )
        for i, centre in centred.items()
    )
    indentation = 0.0 if thin else 13 / 16 * NOMINAL_THICKNESS / steel.youngs_modulus
    return PackedStack(
        rows_of(packs),
        rings,
        steel.poisson_ratio,
        shims[0].thickness,
        indentation,
        thin,
        tuple(places),
    )


def _joins(before: Shim, shim: Shim, merge: Merge) -> bool:
    """Whether a shim is one plate with the one before it."""
    if merge == "none":
        return False
    return shim is before or (
        abs(shim.outer_diameter - before.outer_diameter) < 2 * SAME
        and (merge == "diameter" or abs(shim.thickness - before.thickness) < SAME)
    )


@lru_cache(maxsize=KEPT_PLATES)
def _pack(shims: tuple[Shim, ...], steel: SpringSteel, thin: bool) -> Pack:
    radius = shims[0].outer_diameter / 2
    if shims[0].thickness < THINNEST:
        return Pack(radius, 0.0, 0.0, 0.0, sum(shim.thickness for shim in shims))
    return joined(
        [
            Pack(
                radius,
                steel.bending(thickness=shim.thickness),
                steel.stretching(thickness=shim.thickness),
                math.inf if thin else steel.shear(thickness=shim.thickness),
                shim.thickness,
            )
            for shim in shims
        ]
    )


def rows_of(packs: Sequence[Pack]) -> NDArray[np.float64]:
    """Packs as an array (packs, 5)."""
    return np.array([*chain.from_iterable(packs)], dtype=float).reshape(-1, len(Pack._fields))


def joined(plates: Sequence[Pack]) -> Pack:
    """Plates that share one deflection, equation (3)."""
    if len(plates) == 1:
        return plates[0]
    total = sum(plate.bending for plate in plates)
    shear_compliance = sum(plate.bending**2 / plate.shear for plate in plates if plate.bending > 0)
    return Pack(
        plates[0].outer_radius,
        total,
        sum(plate.stretching for plate in plates),
        total**2 / shear_compliance if shear_compliance > 0 else math.inf if total > 0 else 0.0,
        sum(plate.height for plate in plates),
    )


def _centring_place(shims: Sequence[Shim], ring: int, clamp_radius: float) -> int:
    """Place of the neighbour that fits inside the ring: the one behind it, or else the one before."""
    for place in (ring + 1, ring - 1):
        if (
            0 <= place < len(shims)
            and not is_ring(shims[place], clamp_radius)
            and shims[place].outer_diameter <= shims[ring].inner_diameter + SAME
        ):
            return place
    shim = shims[ring]
    raise GeometryError(
        f"shim {ring + 1} ({shim.outer_diameter * 1e3:g}x{shim.thickness * 1e3:g}) has a hole of "
        f"{shim.inner_diameter * 1e3:g} mm, wider than the clamp of {2 * clamp_radius * 1e3:g} mm, and no "
        "neighbour fits inside it. Put its centring shim next to it, or correct the hole."
    )


def _bears(shims: Sequence[Shim], ring: int, centring: int, packs: Sequence[Pack]) -> None:
    hole = shims[ring].inner_diameter / 2
    for side, name in ((packs[:centring], "before"), (packs[centring + 1 :], "behind")):
        if not any(pack.outer_radius > hole + SAME for pack in side):
            raise GeometryError(
                f"shim {ring + 1} is a ring with a hole of {2e3 * hole:g} mm, and no shim {name} it is wider "
                "than that: it bears on nothing. Put it between wider shims, or leave it out."
            )
