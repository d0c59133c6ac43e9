"""One annular plate in bending, stretching and transverse shear, held at the clamp and free at its rim.

Axisymmetric von Karman plate with Mindlin shear on elements along the radius. Each node carries lift w,
rotation phi of the cross-section and radial displacement u. Within an element

- w is a cubic and phi = w' - gamma, with a shear angle gamma that is constant in the element. Gamma is
  eliminated beforehand by the least linear energy, so it costs no unknown, cannot lock, and vanishes where
  shear is stiff;
- u is a parabola whose middle is eliminated exactly, since the energy is quadratic in u.

Strains: bending phi' and phi/r, stretching u' + w'^2/2 and u/r. The stretching energy is taken at two Gauss
points, where a parabola in u can follow w'^2 without locking. Energies, forces and stiffnesses are per radian
of the circumference. All functions here are compiled and work on plain arrays.

References
----------
.. [1] S. Timoshenko and S. Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed., McGraw-Hill, 1959, ch.
3, 13.
.. [2] R. D. Mindlin, "Influence of rotatory inertia and shear on flexural motions of isotropic, elastic
   plates", J. Appl. Mech. 18 (1951) 31-38.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import ENTRY

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_ROOT, _WEIGHT = np.polynomial.legendre.leggauss(4)
BENDING_POINTS = (_ROOT + 1) / 2
BENDING_WEIGHTS = _WEIGHT / 2
STRETCHING_POINTS = (np.polynomial.legendre.leggauss(2)[0] + 1) / 2


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


@ENTRY
def grid_integrals(r: Floats, nu: float) -> tuple[Floats, Floats]:
    """Bending matrices (elements, 5, 5) at D = 1 for (w1, phi1, w2, phi2, gamma), and areas per radian."""
    count = r.size - 1
    bend = np.zeros((count, 5, 5))
    area = np.empty(count)
    curve = np.empty(5)
    for e in range(count):
        length = r[e + 1] - r[e]
        area[e] = 0.5 * (r[e + 1] ** 2 - r[e] ** 2)
        for g in range(4):
            x = BENDING_POINTS[g]
            at = r[e] + x * length
            s = slope_shapes(x, length)
            turn = (s[0], s[1], s[2], s[3], s[4] - 1.0)
            curve[0] = (12 * x - 6) / length**2
            curve[1] = (6 * x - 4) / length
            curve[2] = -curve[0]
            curve[3] = (6 * x - 2) / length
            curve[4] = curve[1] + curve[3]
            weight = BENDING_WEIGHTS[g] * length * at
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
    """Fill a plate's bending matrices (m, 4, 4), slopes (m, 2, 4), shear angles (m, 4), gamma eliminated."""
    for e in range(m):
        length = r[e + 1] - r[e]
        give = bend[e, 4, 4] * bending + (shear * area[e] if np.isfinite(shear) else 0.0)
        for j in range(4):
            shear_angle[e, j] = -bending * bend[e, 4, j] / give if np.isfinite(shear) else 0.0
        for i in range(4):
            for j in range(4):
                stiff[e, i, j] = bending * (bend[e, i, j] + bend[e, i, 4] * shear_angle[e, j])
        for g in range(2):
            s = slope_shapes(STRETCHING_POINTS[g], length)
            for j in range(4):
                slope[e, g, j] = s[j] + s[4] * shear_angle[e, j]


@ENTRY
def load_vector(
    r: Floats, m: int, radii: Floats, shares: Floats, shear_angle: Floats, load: Floats, tilt: Floats
) -> None:
    """Unit pressure of a profile that is linear between its radii and zero outside, per radian.

    Fills the forces ``load`` (nodes, 2) and the matrices ``tilt`` (m, 4, 4) of the integral of p w'^2 r,
    which counts because pressure acts on the face and the plate's unknowns are those of its middle.
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
def stretching_integrals(r: Floats, nu: float) -> Floats:
    """Stretching matrices (elements, 4, 4) at C = 1 for (w'^2/2 at either Gauss point, u1, u2).

    The middle of u is eliminated: it follows the other four.
    """
    count = r.size - 1
    whole, out = np.empty((5, 5)), np.empty((count, 4, 4))
    radial, hoop = np.empty(5), np.empty(5)
    for e in range(count):
        length = r[e + 1] - r[e]
        whole[:] = 0.0
        for g in range(2):
            x = STRETCHING_POINTS[g]
            at = r[e] + x * length
            radial[0], radial[1] = 1.0 - g, 1.0 * g
            radial[2], radial[3], radial[4] = -1 / length, 1 / length, 4 * (1 - 2 * x) / length
            hoop[0], hoop[1] = 0.0, 0.0
            hoop[2], hoop[3], hoop[4] = (1 - x) / at, x / at, 4 * x * (1 - x) / at
            for i in range(5):
                for j in range(5):
                    both = radial[i] * hoop[j] + hoop[i] * radial[j]
                    whole[i, j] += 0.5 * length * at * (radial[i] * radial[j] + hoop[i] * hoop[j] + nu * both)
        for i in range(4):
            for j in range(4):
                out[e, i, j] = whole[i, j] - whole[i, 4] * whole[j, 4] / whole[4, 4]
    return out


@ENTRY
def assemble(
    m: int, q: Floats, stretching: float, stretch: Floats, stiff: Floats, slope: Floats, diagonal: Floats,
    coupling: Floats, force: Floats,
) -> None:  # fmt: skip
    """Inner forces (nodes, 3) of a plate at q (nodes, 3), and its tangent as 3x3 blocks.

    ``stretch`` is what :func:`stretching_integrals` gives. Of ``diagonal[n]``, the block of node n with
    itself, the lower half is filled; ``coupling[n]`` is that of node n with node n - 1.
    """
    for i in range(3):
        force[0, i] = 0.0
        for j in range(3):
            diagonal[0, i, j] = 0.0
    for e in range(m):
        w1, p1, u1 = q[e, 0], q[e, 1], q[e, 2]
        w2, p2, u2 = q[e + 1, 0], q[e + 1, 1], q[e + 1, 2]
        a0, a1, a2, a3 = slope[e, 0, 0], slope[e, 0, 1], slope[e, 0, 2], slope[e, 0, 3]
        b0, b1, b2, b3 = slope[e, 1, 0], slope[e, 1, 1], slope[e, 1, 2], slope[e, 1, 3]
        sa = a0 * w1 + a1 * p1 + a2 * w2 + a3 * p2
        sb = b0 * w1 + b1 * p1 + b2 * w2 + b3 * p2
        ea, eb = 0.5 * sa * sa, 0.5 * sb * sb
        m00, m01 = stretching * stretch[e, 0, 0], stretching * stretch[e, 0, 1]
        m02, m03 = stretching * stretch[e, 0, 2], stretching * stretch[e, 0, 3]
        m11, m12, m13 = (
            stretching * stretch[e, 1, 1], stretching * stretch[e, 1, 2], stretching * stretch[e, 1, 3]
        )  # fmt: skip
        m22, m23, m33 = (
            stretching * stretch[e, 2, 2], stretching * stretch[e, 2, 3], stretching * stretch[e, 3, 3]
        )  # fmt: skip
        na = m00 * ea + m01 * eb + m02 * u1 + m03 * u2
        nb = m01 * ea + m11 * eb + m12 * u1 + m13 * u2
        ga, gb, mixed = na + m00 * sa * sa, nb + m11 * sb * sb, m01 * sa * sb
        fa, fb = na * sa, nb * sb
        c0, c1 = ga * a0 + mixed * b0, ga * a1 + mixed * b1
        c2, c3 = ga * a2 + mixed * b2, ga * a3 + mixed * b3
        d0, d1 = mixed * a0 + gb * b0, mixed * a1 + gb * b1
        d2, d3 = mixed * a2 + gb * b2, mixed * a3 + gb * b3
        k10, k20, k30 = stiff[e, 1, 0], stiff[e, 2, 0], stiff[e, 3, 0]
        k21, k31, k32 = stiff[e, 2, 1], stiff[e, 3, 1], stiff[e, 3, 2]
        k00, k11, k22, k33 = stiff[e, 0, 0], stiff[e, 1, 1], stiff[e, 2, 2], stiff[e, 3, 3]
        v, h = m02 * sa, m12 * sb
        force[e, 0] += fa * a0 + fb * b0 + k00 * w1 + k10 * p1 + k20 * w2 + k30 * p2
        force[e, 1] += fa * a1 + fb * b1 + k10 * w1 + k11 * p1 + k21 * w2 + k31 * p2
        force[e, 2] += m02 * ea + m12 * eb + m22 * u1 + m23 * u2
        diagonal[e, 0, 0] += k00 + a0 * c0 + b0 * d0
        diagonal[e, 1, 0] += k10 + a1 * c0 + b1 * d0
        diagonal[e, 1, 1] += k11 + a1 * c1 + b1 * d1
        diagonal[e, 2, 0] += v * a0 + h * b0
        diagonal[e, 2, 1] += v * a1 + h * b1
        diagonal[e, 2, 2] += m22
        n = e + 1
        coupling[n, 0, 0] = k20 + a2 * c0 + b2 * d0
        coupling[n, 0, 1] = k21 + a2 * c1 + b2 * d1
        coupling[n, 0, 2] = v * a2 + h * b2
        coupling[n, 1, 0] = k30 + a3 * c0 + b3 * d0
        coupling[n, 1, 1] = k31 + a3 * c1 + b3 * d1
        coupling[n, 1, 2] = v * a3 + h * b3
        v, h = m03 * sa, m13 * sb
        coupling[n, 2, 0] = v * a0 + h * b0
        coupling[n, 2, 1] = v * a1 + h * b1
        coupling[n, 2, 2] = m23
        force[n, 0] = fa * a2 + fb * b2 + k20 * w1 + k21 * p1 + k22 * w2 + k32 * p2
        force[n, 1] = fa * a3 + fb * b3 + k30 * w1 + k31 * p1 + k32 * w2 + k33 * p2
        force[n, 2] = m03 * ea + m13 * eb + m23 * u1 + m33 * u2
        diagonal[n, 0, 0] = k22 + a2 * c2 + b2 * d2
        diagonal[n, 1, 0] = k32 + a3 * c2 + b3 * d2
        diagonal[n, 1, 1] = k33 + a3 * c3 + b3 * d3
        diagonal[n, 2, 0] = v * a2 + h * b2
        diagonal[n, 2, 1] = v * a3 + h * b3
        diagonal[n, 2, 2] = m33


@ENTRY
def factor(m: int, diagonal: Floats, coupling: Floats, pull: Floats, inverse: Floats) -> bool:
    """Block factors of the tangent on nodes 1..m; False when it is not positive definite.

    ``inverse[n]`` is the inverse of the n-th pivot block, ``pull[n] = coupling[n] inverse[n - 1]``.
    """
    for n in range(1, m + 1):
        a, b, c = diagonal[n, 0, 0], diagonal[n, 1, 0], diagonal[n, 2, 0]
        d, e, f = diagonal[n, 1, 1], diagonal[n, 2, 1], diagonal[n, 2, 2]
        if n > 1:
            for i in range(3):
                c0, c1, c2 = coupling[n, i, 0], coupling[n, i, 1], coupling[n, i, 2]
                for j in range(3):
                    pull[n, i, j] = (
                        c0 * inverse[n - 1, 0, j] + c1 * inverse[n - 1, 1, j] + c2 * inverse[n - 1, 2, j]
                    )
            p, k = pull[n], coupling[n]
            a -= p[0, 0] * k[0, 0] + p[0, 1] * k[0, 1] + p[0, 2] * k[0, 2]
            b -= p[1, 0] * k[0, 0] + p[1, 1] * k[0, 1] + p[1, 2] * k[0, 2]
            c -= p[2, 0] * k[0, 0] + p[2, 1] * k[0, 1] + p[2, 2] * k[0, 2]
            d -= p[1, 0] * k[1, 0] + p[1, 1] * k[1, 1] + p[1, 2] * k[1, 2]
            e -= p[2, 0] * k[1, 0] + p[2, 1] * k[1, 1] + p[2, 2] * k[1, 2]
            f -= p[2, 0] * k[2, 0] + p[2, 1] * k[2, 1] + p[2, 2] * k[2, 2]
        m00, m01, m02 = d * f - e * e, c * e - b * f, b * e - c * d
        det = a * m00 + b * m01 + c * m02
        if not (a > 0 and a * d - b * b > 0 and det > 0):
            return False
        s = 1 / det
        inverse[n, 0, 0] = m00 * s
        inverse[n, 0, 1] = inverse[n, 1, 0] = m01 * s
        inverse[n, 0, 2] = inverse[n, 2, 0] = m02 * s
        inverse[n, 1, 1] = (a * f - c * c) * s
        inverse[n, 1, 2] = inverse[n, 2, 1] = (b * c - a * e) * s
        inverse[n, 2, 2] = (a * d - b * b) * s
    return True


@ENTRY
def solve_plates(present: Ints, last: Ints, pull: Floats, inverse: Floats, z: Floats) -> None:
    """Solve in place on z (plates, nodes, 3), by the factors of each plate that is present."""
    # whole arrays and plain indices: a view of an array is counted, at the cost of a row
    for k in present:
        m = last[k]
        for n in range(2, m + 1):
            z0, z1, z2 = z[k, n - 1, 0], z[k, n - 1, 1], z[k, n - 1, 2]
            for i in range(3):
                z[k, n, i] -= pull[k, n, i, 0] * z0 + pull[k, n, i, 1] * z1 + pull[k, n, i, 2] * z2
        for n in range(m, 0, -1):
            z0, z1, z2 = z[k, n, 0], z[k, n, 1], z[k, n, 2]
            for i in range(3):
                z[k, n, i] = inverse[k, n, i, 0] * z0 + inverse[k, n, i, 1] * z1 + inverse[k, n, i, 2] * z2
            if n < m:
                for i in range(3):
                    z[k, n, i] -= (
                        pull[k, n + 1, 0, i] * z[k, n + 1, 0]
                        + pull[k, n + 1, 1, i] * z[k, n + 1, 1]
                        + pull[k, n + 1, 2, i] * z[k, n + 1, 2]
                    )


@ENTRY
def whole_blocks(m: int, pull: Floats, inverse: Floats, whole: Floats) -> None:
    """Diagonal blocks of the tangent's inverse on nodes 1..m, from its factors."""
    t = np.empty((3, 3))
    for i in range(3):
        for j in range(3):
            whole[m, i, j] = inverse[m, i, j]
    for n in range(m - 1, 0, -1):
        h = n + 1
        for i in range(3):
            for j in range(3):
                t[i, j] = (
                    whole[h, i, 0] * pull[h, 0, j]
                    + whole[h, i, 1] * pull[h, 1, j]
                    + whole[h, i, 2] * pull[h, 2, j]
                )
        for i in range(3):
            for j in range(i + 1):
                v = (
                    inverse[n, i, j]
                    + pull[h, 0, i] * t[0, j]
                    + pull[h, 1, i] * t[1, j]
                    + pull[h, 2, i] * t[2, j]
                )
                whole[n, i, j] = whole[n, j, i] = v
