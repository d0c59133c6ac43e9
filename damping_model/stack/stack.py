"""What is bolted together: shims from the piston outwards."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Shim:
    """A thin flat disc of spring steel with a hole for the shaft.

    Dimensions are checked where a stack is made plates of: :func:`damping_model.stack.packs.pack_stack`.

    Parameters
    ----------
    outer_diameter : diameter of the rim. [m]
    thickness : height at rest. [m]
    inner_diameter : diameter of the hole. [m]

    Examples
    --------
    >>> Shim(20e-3, 0.15e-3, 8e-3).thickness
    0.00015
    """

    outer_diameter: float
    thickness: float
    inner_diameter: float


@dataclass(frozen=True, slots=True)
class Stack:
    """The shims on one face of a piston.

    Parameters
    ----------
    shims : listed from the piston outwards; the first, the face shim, covers the ports.

    Examples
    --------
    >>> Stack((Shim(20e-3, 0.15e-3, 8e-3), Shim(16e-3, 0.20e-3, 8e-3))).height
    0.00035
    """

    shims: tuple[Shim, ...]

    def is_ring(self, place: int) -> bool:
        """Whether the shim at a place in the list lies around its neighbour instead of on it."""
        hole = self.shims[place].inner_diameter
        return any(
            self.shims[near].outer_diameter <= hole and self.shims[near].inner_diameter < hole
            for near in (place - 1, place + 1)
            if 0 <= near < len(self.shims)
        )

    @property
    def height(self) -> float:
        """Height of the stack at rest; a ring lies around its centring shim and adds nothing. [m]"""
        if len({shim.inner_diameter for shim in self.shims}) == 1:
            return sum(shim.thickness for shim in self.shims)
        return sum(shim.thickness for place, shim in enumerate(self.shims) if not self.is_ring(place))
