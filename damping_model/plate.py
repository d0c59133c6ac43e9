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
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_ROOT, _WEIGHT = np.polynomial.legendre.leggauss(4)
BENDING_POINTS = (_ROOT + 1) / 2
BENDING_WEIGHTS = _WEIGHT / 2
STRETCHING_POINTS = (np.polynomial.legendre.leggauss(2)[0] + 1) / 2


@njit(cache=True, nogil=True, error_model="numpy")
def lift_shapes(x: float, length: float) -> tuple[float, float, float, float, float]:
    """Cubic shapes of w at x in 0..1 for (w1, phi1, w2, phi2, gamma)."""
    n2, n4 = length * (x - 2 * x * x + x**3), length * (x**3 - x * x)
    n3 = x * x * (3 - 2 * x)
    return 1 - n3, n2, n3, n4, n2 + n4


@njit(cache=True, nogil=True, error_model="numpy")
def slope_shapes(x: float, length: float) -> tuple[float, float, float, float, float]:
    """Slope w' at x in 0..1 for (w1, phi1, w2, phi2, gamma)."""
    n3 = 6 * x * (1 - x) / length
    n2, n4 = 1 - 4 * x + 3 * x * x, 3 * x * x - 2 * x
    return -n3, n2, n3, n4, n2 + n4


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
def load_vector(
    r: Floats, m: int, radii: Floats, shares: Floats, shear_angle: Floats, load: Floats, tilt: Floats
) -> None:
    """Unit pressure of a profile that is linear between its radii and nought outside, per radian.

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


@njit(cache=True, nogil=True, error_model="numpy")
def assemble(
    r: Floats, m: int, q: Floats, stretching: float, nu: float, stiff: Floats, slope: Floats,
    diagonal: Floats, coupling: Floats, force: Floats,
) -> None:  # fmt: skip
    """Inner forces (nodes, 3) of a plate at q (nodes, 3), and its tangent as 3x3 blocks.

    ``diagonal[n]`` is the block of node n with itself, ``coupling[n]`` that of node n with node n - 1.
    """
    for n in range(m + 1):
        for i in range(3):
            force[n, i] = 0.0
            for j in range(3):
                diagonal[n, i, j] = 0.0
    mixed = np.empty(4)
    bubble = np.empty(6)
    k = np.empty((6, 6))
    f = np.empty(6)
    for e in range(m):
        length = r[e + 1] - r[e]
        w1, p1, u1 = q[e, 0], q[e, 1], q[e, 2]
        w2, p2, u2 = q[e + 1, 0], q[e + 1, 1], q[e + 1, 2]
        # stretching with the middle of u still free: order w1 p1 u1 w2 p2 u2
        x0, x1 = STRETCHING_POINTS[0], STRETCHING_POINTS[1]
        ra, rb = r[e] + x0 * length, r[e] + x1 * length
        ca, cb = stretching * 0.5 * length * ra, stretching * 0.5 * length * rb
        sa = slope[e, 0, 0] * w1 + slope[e, 0, 1] * p1 + slope[e, 0, 2] * w2 + slope[e, 0, 3] * p2
        sb = slope[e, 1, 0] * w1 + slope[e, 1, 1] * p1 + slope[e, 1, 2] * w2 + slope[e, 1, 3] * p2
        du = (u2 - u1) / length
        era, erb = du + 0.5 * sa * sa, du + 0.5 * sb * sb
        eta, etb = (u1 + x0 * (u2 - u1)) / ra, (u1 + x1 * (u2 - u1)) / rb
        # bubble 4x(1-x): slopes and hoop strains at the two points
        bda, bdb = 4 * (1 - 2 * x0) / length, 4 * (1 - 2 * x1) / length
        bta, btb = 4 * x0 * (1 - x0) / ra, 4 * x1 * (1 - x1) / rb
        pra, pta = ca * (bda + nu * bta), ca * (bta + nu * bda)
        prb, ptb = cb * (bdb + nu * btb), cb * (btb + nu * bdb)
        kbb = pra * bda + pta * bta + prb * bdb + ptb * btb
        middle = -(pra * era + pta * eta + prb * erb + ptb * etb) / kbb
        era += bda * middle
        erb += bdb * middle
        eta += bta * middle
        etb += btb * middle
        na, ta = ca * (era + nu * eta), ca * (eta + nu * era)
        nb, tb = cb * (erb + nu * etb), cb * (etb + nu * erb)
        ha1, ha2, hb1, hb2 = (1 - x0) / ra, x0 / ra, (1 - x1) / rb, x1 / rb
        il = 1 / length
        f[2] = -(na + nb) * il + ta * ha1 + tb * hb1
        f[5] = (na + nb) * il + ta * ha2 + tb * hb2
        ga, gb = na + ca * sa * sa, nb + cb * sb * sb
        a1, a2 = ca * sa * (-il + nu * ha1), ca * sa * (il + nu * ha2)
        b1, b2 = cb * sb * (-il + nu * hb1), cb * sb * (il + nu * hb2)
        for i in range(4):
            bi, ci = slope[e, 0, i], slope[e, 1, i]
            row = i if i < 2 else i + 1
            f[row] = (
                na * sa * bi + nb * sb * ci
                + stiff[e, i, 0] * w1 + stiff[e, i, 1] * p1 + stiff[e, i, 2] * w2 + stiff[e, i, 3] * p2
            )  # fmt: skip
            for j in range(i + 1):
                k[row, j if j < 2 else j + 1] = (
                    stiff[e, i, j] + ga * bi * slope[e, 0, j] + gb * ci * slope[e, 1, j]
                )
            if i < 2:
                k[2, row] = a1 * bi + b1 * ci
                k[5, row] = a2 * bi + b2 * ci
            else:
                k[row, 2] = a1 * bi + b1 * ci
                k[5, row] = a2 * bi + b2 * ci
            mixed[i] = pra * sa * bi + prb * sb * ci
        k[2, 2] = (ca + cb) * il * il + ca * ha1 * ha1 + cb * hb1 * hb1 - 2 * nu * il * (ca * ha1 + cb * hb1)
        k[5, 5] = (ca + cb) * il * il + ca * ha2 * ha2 + cb * hb2 * hb2 + 2 * nu * il * (ca * ha2 + cb * hb2)
        k[5, 2] = (
            -(ca + cb) * il * il + ca * ha1 * ha2 + cb * hb1 * hb2
            + nu * il * (ca * (ha1 - ha2) + cb * (hb1 - hb2))
        )  # fmt: skip
        bubble[0], bubble[1], bubble[3], bubble[4] = mixed[0], mixed[1], mixed[2], mixed[3]
        bubble[2] = -(pra + prb) * il + pta * ha1 + ptb * hb1
        bubble[5] = (pra + prb) * il + pta * ha2 + ptb * hb2
        for i in range(6):
            s = bubble[i] / kbb
            for j in range(i + 1):
                k[i, j] -= s * bubble[j]
        for i in range(3):
            force[e, i] += f[i]
            force[e + 1, i] += f[i + 3]
            for j in range(i + 1):
                diagonal[e, i, j] += k[i, j]
                diagonal[e + 1, i, j] += k[i + 3, j + 3]
            for j in range(3):
                coupling[e + 1, i, j] = k[i + 3, j]


@njit(cache=True, nogil=True, error_model="numpy")
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


@njit(cache=True, nogil=True, error_model="numpy")
def forward(first: int, m: int, pull: Floats, z: Floats) -> None:
    """Forward substitution in place on z (nodes, 3), nought before ``first``."""
    for n in range(first + 1, m + 1):
        z0, z1, z2 = z[n - 1, 0], z[n - 1, 1], z[n - 1, 2]
        for i in range(3):
            z[n, i] -= pull[n, i, 0] * z0 + pull[n, i, 1] * z1 + pull[n, i, 2] * z2


@njit(cache=True, nogil=True, error_model="numpy")
def backward(m: int, pull: Floats, inverse: Floats, z: Floats) -> None:
    """Finish the solution in place after :func:`forward`."""
    for n in range(m, 0, -1):
        z0, z1, z2 = z[n, 0], z[n, 1], z[n, 2]
        for i in range(3):
            z[n, i] = inverse[n, i, 0] * z0 + inverse[n, i, 1] * z1 + inverse[n, i, 2] * z2
        if n < m:
            for i in range(3):
                z[n, i] -= (
                    pull[n + 1, 0, i] * z[n + 1, 0]
                    + pull[n + 1, 1, i] * z[n + 1, 1]
                    + pull[n + 1, 2, i] * z[n + 1, 2]
                )


@njit(cache=True, nogil=True, error_model="numpy")
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
