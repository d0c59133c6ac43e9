"""From the first linear step to shapes near the equilibrium: what stretching makes of them.

A linear step from flat plates knows nothing of stretching: it lifts too far, and shifts no face along the
radius, which the next Newton step would have to undo before it can do anything else. Here every plate is
first let shift along the radius, and then all lifts are made smaller together until bending and stretching
balance as they do along that one way: energy of the former goes with the square of the lift, that of the
latter with its fourth power. It is where Newton goes on from and nothing more.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import PART, WRITTEN_IN
from damping_model.plates.plate import Plates

Floats = NDArray[np.float64]

TURNS: Final = 5
"""Newton steps for the share of the lift that is left, from what would be left without bending."""


@WRITTEN_IN
def bow(e: int, k: int, q: Floats, plates: Plates) -> tuple[float, float]:
    """Half the square of an element's slope at its two Gauss points. [-]"""
    slope, w1, p1, w2, p2 = plates.slope, q[k, e, 0], q[k, e, 1], q[k, e + 1, 0], q[k, e + 1, 1]
    sa = slope[k, e, 0, 0] * w1 + slope[k, e, 0, 1] * p1 + slope[k, e, 0, 2] * w2 + slope[k, e, 0, 3] * p2
    sb = slope[k, e, 1, 0] * w1 + slope[k, e, 1, 1] * p1 + slope[k, e, 1, 2] * w2 + slope[k, e, 1, 3] * p2
    return 0.5 * sa * sa, 0.5 * sb * sb


@PART
def shift_along(k: int, q: Floats, plates: Plates, pull: Floats) -> float:
    """Let the k-th plate shift along the radius until nothing pulls; twice its stretching energy at C = 1."""
    m, stretch = plates.last[k], plates.stretch
    for e in range(m):
        n, (ea, eb) = e + 1, bow(e, k, q, plates)
        own = stretch[e, 3, 3]
        push = -stretch[e, 3, 0] * ea - stretch[e, 3, 1] * eb
        if n > 1:
            part = stretch[e, 2, 3] / pull[e]
            own -= part * stretch[e, 2, 3]
            push -= part * q[k, e, 2]
        if n < m:
            ea, eb = bow(n, k, q, plates)
            own += stretch[n, 2, 2]
            push -= stretch[n, 2, 0] * ea + stretch[n, 2, 1] * eb
        q[k, n, 2], pull[n] = push, own
    q[k, m, 2] /= pull[m]
    for n in range(m - 1, 0, -1):
        q[k, n, 2] = (q[k, n, 2] - stretch[n, 2, 3] * q[k, n + 1, 2]) / pull[n]
    energy = 0.0
    for e in range(m):
        ea, eb = bow(e, k, q, plates)
        strain = (ea, eb, q[k, e, 2], q[k, e + 1, 2])
        for i in range(4):
            for j in range(4):
                energy += strain[i] * stretch[e, i, j] * strain[j]
    return energy


@PART
def bending_energy(k: int, q: Floats, plates: Plates) -> float:
    """Twice a plate's energy of bending. [N m]"""
    energy, stiff = 0.0, plates.stiff
    for e in range(plates.last[k]):
        shape = (q[k, e, 0], q[k, e, 1], q[k, e + 1, 0], q[k, e + 1, 1])
        for i in range(4):
            for j in range(4):
                energy += shape[i] * stiff[k, e, i, j] * shape[j]
    return energy


@PART
def shrink(plates: Plates, q: Floats) -> float:
    """Make shapes of a linear step from flat plates smaller, in place; the greatest lift that is left. [m]"""
    bent, stretched, pull = 0.0, 0.0, np.empty(q.shape[1])
    for k in plates.present:
        stretched += 2 * plates.stretching[k] * shift_along(k, q, plates, pull)
        bent += bending_energy(k, q, plates)
    share = 1.0
    if 0 < bent < stretched:
        share = (bent / stretched) ** (1 / 3)
    for _ in range(TURNS if bent > 0 else 0):
        share -= (bent * (share - 1) + stretched * share**3) / (bent + 3 * stretched * share**2)
    size = 0.0
    for k in plates.present:
        for n in range(1, plates.last[k] + 1):
            q[k, n, 0] *= share
            q[k, n, 1] *= share
            q[k, n, 2] *= share * share
            size = max(size, abs(q[k, n, 0]))
    return size
