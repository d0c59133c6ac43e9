"""One annular plate in bending, stretching and transverse shear, held at the clamp and free at its rim.

Axisymmetric von Karman plate with Mindlin shear, equations (1) and (2), on elements along the radius. Each
node carries lift w, rotation phi of the cross-section and radial displacement u. Within an element

- w is a cubic and phi = w' - gamma, with a shear angle gamma that is constant in the element. Gamma is
  eliminated beforehand by the least linear energy, (4), so it costs no unknown, cannot lock, and vanishes
  where shear is stiff;
- u is a parabola whose middle is eliminated exactly, since the energy is quadratic in u.

The membrane energy is taken at two Gauss points, where a parabola in u can follow w'^2 without locking.
Energies, forces and stiffnesses are per radian of the circumference. All functions here are compiled and work
on plain arrays.

References
----------
.. [1] S. Timoshenko and S. Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed., McGraw-Hill, 1959, ch.
3, 13.
.. [2] R. D. Mindlin, "Influence of rotatory inertia and shear on flexural motions of isotropic, elastic
   plates", J. Appl. Mech. 18 (1951) 31-38.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import ENTRY, UNCOUNTED

Floats = NDArray[np.float64]
Value = TypeVar("Value", float, Floats)

_ROOT, _WEIGHT = np.polynomial.legendre.leggauss(4)
BENDING_POINTS = (_ROOT + 1) / 2
BENDING_WEIGHTS = _WEIGHT / 2
MEMBRANE_POINTS = (np.polynomial.legendre.leggauss(2)[0] + 1) / 2


@ENTRY
def lift_shapes(x: float, length: float) -> tuple[float, float, float, float, float]:
    """Cubic shapes of w at x in 0..1 for (w1, phi1, w2, phi2, gamma)."""
    n2, n4 = length * (x - 2 * x * x + x**3), length * (x**3 - x * x)
    n3 = x * x * (3 - 2 * x)
    return 1 - n3, n2, n3, n4, n2 + n4


@ENTRY
def slope_shapes(x: float, length: float) -> tuple[float, float, float, float, float]:
    """Slope w' at x in 0..1 for (w1, phi1, w2, phi2, gamma)."""
    n3 = 6 * x * (1 - x) / length
    n2, n4 = 1 - 4 * x + 3 * x * x, 3 * x * x - 2 * x
    return -n3, n2, n3, n4, n2 + n4


@UNCOUNTED
def curvature_shapes(x: float, length: float) -> tuple[float, float, float, float, float]:
    """Curvature phi' at x in 0..1 for (w1, phi1, w2, phi2, gamma)."""
    c0, c1, c3 = (12 * x - 6) / length**2, (6 * x - 4) / length, (6 * x - 2) / length
    return c0, c1, -c0, c3, c1 + c3


@UNCOUNTED
def middle_strains(x: float, at: Value, length: Value) -> tuple[Value, Value]:
    """Strains u' and u/r at x in 0..1, the radius ``at``, by the height of u's middle over its chord."""
    return 4 * (1 - 2 * x) / length, 4 * x * (1 - x) / at


@ENTRY
def grid_integrals(r: Floats, nu: float) -> tuple[Floats, Floats]:
    """Bending matrices B (elements, 5, 5) at D = 1 for (w1, phi1, w2, phi2, gamma), and areas A of (4)."""
    count = r.size - 1
    bend = np.zeros((count, 5, 5))
    area = np.empty(count)
    for e in range(count):
        length = r[e + 1] - r[e]
        area[e] = 0.5 * (r[e + 1] ** 2 - r[e] ** 2)
        for g in range(4):
            x = BENDING_POINTS[g]
            at = r[e] + x * length
            s = slope_shapes(x, length)
            turn = (s[0], s[1], s[2], s[3], s[4] - 1.0)
            curve = curvature_shapes(x, length)
            weight = BENDING_WEIGHTS[g] * length * at
            # the terms in D of (2)
            for i in range(5):
                for j in range(5):
                    bend[e, i, j] += weight * (
                        curve[i] * curve[j]
                        + turn[i] * turn[j] / at**2
                        + nu * (curve[i] * turn[j] + curve[j] * turn[i]) / at
                    )
    return bend, area


@ENTRY
def plate_elements(
    r: Floats, m: int, bending: float, shear: float, bend: Floats, area: Floats,
    stiff: Floats, slope: Floats, shear_angle: Floats,
) -> None:  # fmt: skip
    """Fill in a plate's elements with the shear angle eliminated: equation (4).

    Parameters
    ----------
    r : nodes. [m]
    m : number of the plate's elements.
    bending, shear : D [N m] and S [N/m] of the plate.
    bend, area : from :func:`grid_integrals`.
    stiff : receives the bending matrices K (m, 4, 4).
    slope : receives the slope w' at the two Gauss points for (w1, phi1, w2, phi2) (m, 2, 4).
    shear_angle : receives the shear angle for the same (m, 4).
    """
    for e in range(m):
        length = r[e + 1] - r[e]
        resistance = bend[e, 4, 4] * bending + (shear * area[e] if np.isfinite(shear) else 0.0)
        for j in range(4):
            shear_angle[e, j] = -bending * bend[e, 4, j] / resistance if np.isfinite(shear) else 0.0
        for i in range(4):
            for j in range(4):
                stiff[e, i, j] = bending * (bend[e, i, j] + bend[e, i, 4] * shear_angle[e, j])
        for g in range(2):
            s = slope_shapes(MEMBRANE_POINTS[g], length)
            for j in range(4):
                slope[e, g, j] = s[j] + s[4] * shear_angle[e, j]


@ENTRY
def load_vector(
    r: Floats, m: int, radii: Floats, shares: Floats, shear_angle: Floats, load: Floats, tilt: Floats
) -> None:
    """Fill in the integrals of equation (8) at a pressure and an offset of 1, per radian.

    Parameters
    ----------
    r : nodes. [m]
    m : number of the plate's elements.
    radii, shares : pressure, linear between the radii and zero outside.
    shear_angle : from :func:`plate_elements`.
    load : receives the forces (nodes, 2).
    tilt : receives the matrices of the integral of w'^2 (m, 4, 4): pressure acts on the face, and the plate's
        unknowns are those of its middle.
    """
    load[:] = 0.0
    tilt[:] = 0.0
    for e in range(m):
        length = r[e + 1] - r[e]
        for k in range(radii.size - 1):
            lo, hi = max(r[e], radii[k]), min(r[e + 1], radii[k + 1])
            if hi <= lo:
                continue
            for g in range(4):
                at = lo + (hi - lo) * BENDING_POINTS[g]
                part = (at - radii[k]) / (radii[k + 1] - radii[k])
                push = (shares[k] + part * (shares[k + 1] - shares[k])) * at * (hi - lo) * BENDING_WEIGHTS[g]
                n = lift_shapes((at - r[e]) / length, length)
                t = slope_shapes((at - r[e]) / length, length)
                for j in range(4):
                    load[e + j // 2, j % 2] += push * (n[j] + n[4] * shear_angle[e, j])
                    for i in range(4):
                        tilt[e, i, j] += (
                            push * (t[i] + t[4] * shear_angle[e, i]) * (t[j] + t[4] * shear_angle[e, j])
                        )


@ENTRY
def membrane_integrals(r: Floats, nu: float) -> Floats:
    """Membrane matrices M of equation (5) at C = 1 (elements, 4, 4).

    They are for w'^2/2 at either Gauss point, u1 and u2; the middle of u follows these and is eliminated.
    """
    count = r.size - 1
    whole, out = np.empty((5, 5)), np.empty((count, 4, 4))
    radial, hoop = np.empty(5), np.empty(5)
    for e in range(count):
        length = r[e + 1] - r[e]
        whole[:] = 0.0
        for g in range(2):
            x = MEMBRANE_POINTS[g]
            at = r[e] + x * length
            radial[0], radial[1], hoop[0], hoop[1] = 1.0 - g, 1.0 * g, 0.0, 0.0
            radial[2], radial[3], hoop[2], hoop[3] = -1 / length, 1 / length, (1 - x) / at, x / at
            radial[4], hoop[4] = middle_strains(x, at, length)
            # the terms in C of (2)
            for i in range(5):
                for j in range(5):
                    both = radial[i] * hoop[j] + hoop[i] * radial[j]
                    whole[i, j] += 0.5 * length * at * (radial[i] * radial[j] + hoop[i] * hoop[j] + nu * both)
        for i in range(4):
            for j in range(4):
                out[e, i, j] = whole[i, j] - whole[i, 4] * whole[j, 4] / whole[4, 4]
    return out
