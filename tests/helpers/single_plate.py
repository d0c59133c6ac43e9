"""One plate under any load and with any edges, from the model's own elements: for handbook cases."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.assembly import assemble
from damping_model.plates.element import grid_integrals, load_vector, membrane_integrals, plate_elements
from damping_model.plates.factors import factor, solve_plates

Floats = NDArray[np.float64]


def elements(
    r: Floats, *, bending: float, nu: float, shear: float = math.inf
) -> tuple[Floats, Floats, Floats]:
    """Bending matrices, slopes and shear angles of a plate on the grid r."""
    m = r.size - 1
    bend, area = grid_integrals(r, nu)
    stiff, slope, angle = np.zeros((m, 4, 4)), np.zeros((m, 2, 4)), np.zeros((m, 4))
    plate_elements(r, m, bending, shear, bend, area, stiff, slope, angle)
    return stiff, slope, angle


def even_load(r: Floats, inner: float, outer: float) -> Floats:
    """Forces of unit pressure between two radii (nodes, 2), per radian."""
    m = r.size - 1
    load, tilt = np.zeros((r.size, 2)), np.zeros((m, 4, 4))
    load_vector(r, m, np.array([inner, outer]), np.array([1.0, 1.0]), np.zeros((m, 4)), load, tilt)
    return load


def linear_shape(stiff: Floats, load: Floats, fixed: list[int]) -> Floats:
    """Solve bending alone; ``fixed`` lists degrees of freedom, 2 n for w and 2 n + 1 for the rotation of node n."""
    size = load.size
    matrix = np.zeros((size, size))
    for e, block in enumerate(stiff):
        matrix[2 * e : 2 * e + 4, 2 * e : 2 * e + 4] += block
    free = np.setdiff1d(np.arange(size), [k % size for k in fixed])
    shape = np.zeros(size)
    shape[free] = np.linalg.solve(matrix[np.ix_(free, free)], load.ravel()[free])
    return shape.reshape(-1, 2)


def clamped_shape(
    r: Floats, load: Floats, *, bending: float, stretching: float, nu: float, steps: int = 40
) -> Floats:
    """Large deflection (nodes, 3) of a plate held at its inner edge and free at the outer, in the thin limit."""
    m = r.size - 1
    stiff, slope, _ = elements(r, bending=bending, nu=nu)
    stretch = membrane_integrals(r, nu)
    q, z = np.zeros((m + 1, 3)), np.zeros((m + 1, 3))
    diagonal, coupling, pull, inverse = (np.zeros((m + 1, 3, 3)) for _ in range(4))
    force = np.zeros((m + 1, 3))
    for share in np.linspace(0, 1, 11)[1:]:
        for _ in range(steps):
            assemble(m, q, stretching, stretch, stiff, slope, diagonal, coupling, force)
            assert factor(m, diagonal, coupling, pull, inverse)
            z[:] = -force
            z[:, :2] += share * load
            solve_plates(np.array([0]), np.array([m]), pull[None], inverse[None], z[None])
            q[1:] += z[1:]
            if np.abs(z[1:, 0]).max() < 1e-12 * max(np.abs(q[:, 0]).max(), 1e-300):
                break
    return q
