"""The steel that shims are punched from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SpringSteel:
    """Hardened spring steel strip.

    Parameters
    ----------
    youngs_modulus : resistance to stretching. [Pa]
    poisson_ratio : how much it narrows when stretched. [-]
    fatigue_limit : surface stress, at full lift, that it survives without end. [Pa]

    Notes
    -----
    206 GPa and 0.3 are the figures that EN 16984 computes disc springs with. The fatigue limit is bracketed by 500
    to 800 MPa in the literature on valve strip; 600 MPa is an assumption inside that bracket, from memory.
    """

    youngs_modulus: float = 206e9
    poisson_ratio: float = 0.3
    fatigue_limit: float = 600e6

    def bending_stiffness(self, *, thickness: float) -> float:
        """Plate stiffness against bending, E t^3 / (12 (1 - nu^2)). [N m]"""
        return self.youngs_modulus * thickness**3 / (12 * (1 - self.poisson_ratio**2))

    def stretching_stiffness(self, *, thickness: float) -> float:
        """Plate stiffness against stretching, E t / (1 - nu^2). [N/m]"""
        return self.youngs_modulus * thickness / (1 - self.poisson_ratio**2)

    def shear_stiffness(self, *, thickness: float) -> float:
        """Plate stiffness against transverse shear after Mindlin, 5/6 G t. [N/m]"""
        return 5 / 6 * self.youngs_modulus / (2 * (1 + self.poisson_ratio)) * thickness


SPRING_STEEL = SpringSteel()
"""What is assumed unless the shop knows better."""
