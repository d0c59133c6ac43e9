"""A stack in small lift by other means: bending alone, rigid contact, a general solver for forces that only push.

Nothing here comes from the model: each pack is a row of cubic elements with as many nodes as asked, the forces
between faces are the non-negative least-squares answer of scipy (Lawson and Hanson, *Solving Least Squares
Problems*, 1974, ch. 23) to the dual problem.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import nnls

from damping_model.stack.lift import FacePressure, Seat
from damping_model.stack.packs import PackedStack

Floats = NDArray[np.float64]

_ROOT, _WEIGHT = np.polynomial.legendre.leggauss(6)
AT, SHARE = (_ROOT + 1) / 2, _WEIGHT / 2


def linear_lift(packed: PackedStack, seat: Seat, load: FacePressure, pressures: Floats, nodes: int) -> Floats:
    """Lift over the lip, or at its radius where there is none. [m]"""
    clamp, every = seat.clamp_radius, packed.packs
    packs = {k: p for k, p in enumerate(every) if p.bending > 0 and p.outer_radius > clamp}
    face = min(packs)
    r = _grid([clamp, seat.seat_radius, *load.radii, *(p.outer_radius for p in packs.values())], nodes)
    last = {k: int(np.abs(r - p.outer_radius).argmin()) for k, p in packs.items()}
    first = dict(zip(packs, np.cumsum([0, *(2 * last[k] for k in packs)])[:-1], strict=True))
    stiff, push = np.zeros((2 * sum(last.values()),) * 2), np.zeros(2 * sum(last.values()))
    for k, pack in packs.items():
        here = slice(first[k], first[k] + 2 * last[k])
        stiff[here, here] = pack.bending * _bending(r[: last[k] + 1], packed.poisson_ratio)
    push[first[face] : first[face] + 2 * last[face]] = _pressure(r[: last[face] + 1], load)

    apart, gaps = [], []
    for node in range(1, r.size):
        below, gap = -1, 0.0
        for k, pack in enumerate(every):
            if last.get(k, 0) < node:
                gap += pack.height
                continue
            if below >= 0:
                apart.append({first[k] + 2 * node - 2: 1.0, first[below] + 2 * node - 2: -1.0})
                gaps.append(gap)
            below, gap = k, 0.0
    lip = first[face] + 2 * int(np.abs(r - seat.seat_radius).argmin()) - 2
    if seat.has_seat:
        apart.append({lip: 1.0})
        gaps.append(-seat.seat_height)
    opening = np.zeros((len(apart), push.size))
    for row, places in enumerate(apart):
        opening[row, list(places)] = list(places.values())

    scale = 1 / np.sqrt(np.diag(stiff))
    lower = cholesky(stiff * np.outer(scale, scale), lower=True)
    a, b = (solve_triangular(lower, (x * scale).T, lower=True) for x in (opening, push))
    at_rest = np.linalg.lstsq(a.T, np.array(gaps), rcond=None)[0]
    lift = [
        scale * solve_triangular(lower.T, p * b + a @ nnls(a, -(p * b + at_rest), maxiter=20_000)[0])
        for p in pressures
    ]
    return np.array([shape[lip] for shape in lift]) - (seat.seat_height if seat.has_seat else 0.0)


def _grid(marks: list[float], nodes: int) -> Floats:
    """All marks, and about as many nodes as asked evenly between them."""
    marks = sorted(marks)
    parts = [
        np.linspace(a, b, 1 + max(1, round((b - a) / (marks[-1] - marks[0]) * nodes)))[1:]
        for a, b in pairwise(marks)
        if b - a > 1e-9
    ]
    return np.concatenate([marks[:1], *parts])


def _bending(r: Floats, nu: float) -> Floats:
    """Stiffness at D = 1 per radian on (w, w') of all nodes but the clamped first."""
    out = np.zeros((2 * r.size, 2 * r.size))
    for e in range(r.size - 1):
        size = r[e + 1] - r[e]
        for x, share in zip(AT, SHARE, strict=True):
            at = r[e] + x * size
            turn = (
                np.array(
                    [
                        (6 * x**2 - 6 * x) / size,
                        1 - 4 * x + 3 * x**2,
                        (6 * x - 6 * x**2) / size,
                        3 * x**2 - 2 * x,
                    ]
                )
                / at
            )
            bend = np.array([(12 * x - 6) / size, 6 * x - 4, (6 - 12 * x) / size, 6 * x - 2]) / size
            both = np.outer(bend, turn) + np.outer(turn, bend)
            out[2 * e : 2 * e + 4, 2 * e : 2 * e + 4] += (
                share * size * at * (np.outer(bend, bend) + np.outer(turn, turn) + nu * both)
            )
    return out[2:, 2:]


def _pressure(r: Floats, load: FacePressure) -> Floats:
    """Forces of unit pressure per radian on (w, w') of all nodes but the first."""
    out = np.zeros(2 * r.size)
    for e in range(r.size - 1):
        size = r[e + 1] - r[e]
        for x, share in zip(AT, SHARE, strict=True):
            at = r[e] + x * size
            if load.radii[0] <= at <= load.radii[-1]:
                shapes = [
                    1 - 3 * x**2 + 2 * x**3,
                    size * (x - 2 * x**2 + x**3),
                    3 * x**2 - 2 * x**3,
                    size * (x**3 - x**2),
                ]
                out[2 * e : 2 * e + 4] += (
                    share * size * at * np.interp(at, load.radii, load.shares) * np.array(shapes)
                )
    return out[2:]
