"""Spring steel: what a shim is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from damping_model.errors import GeometryError

SHEAR_CORRECTION: Final = 5 / 6
"""Share of a plate's thickness that carries transverse shear. [-]

E. Reissner, "The effect of transverse shear deformation on the bending of elastic plates", J. Appl. Mech. 12
(1945) A69-A77.
"""


@dataclass(frozen=True, slots=True)
class SpringSteel:
    """Isotropic elastic constants and the stress that a shim may see again and again.

    Parameters
    ----------
    youngs_modulus : E; 206 GPa is the figure of the disc-spring standards DIN 2092/2093 and EN 16984. [Pa]
    poisson_ratio : 0.3 in the same standards. [-]
    fatigue_limit : stress amplitude borne without end, fully reversed. Valve strip lies between 500 and
        800 MPa by Murakami's formula for hard steel; 600 MPa is our choice inside that range. [Pa]

    Raises
    ------
    GeometryError
        When a constant is out of the range that an elastic solid can have.

    References
    ----------
    .. [1] EN 16984, *Disc springs: calculation* (before: DIN 2092).
    .. [2] B. Nie and Y. Mutoh, "Fatigue limit prediction of the matrix of 17-4PH stainless steel", 2013,
       doi 10.1115/1.4023428, eq. (1): Murakami's limit.
    """

    youngs_modulus: float = 206e9
    poisson_ratio: float = 0.3
    fatigue_limit: float = 600e6

    def __post_init__(self) -> None:
        """Refuse what is no elastic solid."""
        if not (math.isfinite(self.youngs_modulus) and 1e6 < self.youngs_modulus < 1e13):
            raise GeometryError(
                f"got a Young's modulus of {self.youngs_modulus:g} Pa, expected about 2e11. "
                "Is it in MPa or GPa?"
            )
        if not 0 <= self.poisson_ratio < 0.5:
            raise GeometryError(
                f"got a Poisson ratio of {self.poisson_ratio:g}, expected 0 to less than 0.5."
            )
        if not self.fatigue_limit > 0:
            raise GeometryError(f"got a fatigue limit of {self.fatigue_limit:g} Pa, expected more than 0.")

    def bending(self, *, thickness: float) -> float:
        """Plate stiffness D in bending, E t^3 / (12 (1 - nu^2)): equation (3). [N m]

        It goes with the cube of the thickness [m]:

        >>> steel = SpringSteel()
        >>> steel.bending(thickness=0.2e-3)
        0.1509
        >>> steel.bending(thickness=0.2e-3) / steel.bending(thickness=0.1e-3)
        8.0
        """
        return self.youngs_modulus * thickness**3 / (12 * (1 - self.poisson_ratio**2))

    def stretching(self, *, thickness: float) -> float:
        """Plate stiffness C in its plane, E t / (1 - nu^2): equation (3). [N/m]"""
        return self.youngs_modulus * thickness / (1 - self.poisson_ratio**2)

    def shear(self, *, thickness: float) -> float:
        """Plate stiffness S in transverse shear, 5/6 G t: equation (3). [N/m]"""
        return SHEAR_CORRECTION * self.youngs_modulus / (2 * (1 + self.poisson_ratio)) * thickness
