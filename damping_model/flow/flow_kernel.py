"""Flow through paths in parallel against pressure drop, and its inverse: the compiled inner loop.

A set of paths is four arrays. ``plain`` (paths, 2): linear and quadratic resistance, equation (20).
``lifters`` (paths, columns): plates that rise from a lip, equation (28), in columns as
:mod:`damping_model.flow.lift_kernel` names them. ``tables`` and ``knots``: lift against pressure of those
plates that are shim stacks. All flows here run in one direction and are positive. A root search that does not
end within :data:`damping_model.flow.lift_kernel.MOST_STEPS` returns nan.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.flow.lift_kernel import (
    EDGE,
    FILM,
    HEAD,
    JET,
    LOG_TOLERANCE,
    MOST_STEPS,
    PORT_LINEAR,
    PORT_QUADRATIC,
    lift_of,
)
from damping_model.plates.jit import CHECKED_ENTRY

Floats = NDArray[np.float64]

LOCKED: Final = 1e9
"""Pressure that no damper holds: 10,000 bar. [Pa]"""

LOWEST_SHARE: Final = 60.0
"""Logarithm of the pressure drop over the face pressure beyond which no face pressure is looked for. [-]"""


@CHECKED_ENTRY
def curtain_flow(row: Floats, h: float, dh: float, p: float) -> tuple[float, float]:
    """Flow (27) over the lip at lift h and face pressure p, and its slope against ln p. [m^3/s]"""
    if h <= 0.0:
        return 0.0, 0.0
    h2 = h * h
    a = row[FILM] + row[EDGE] * h
    b = row[JET] + row[HEAD] * h2
    q = 2.0 * p * h2 * h / (a + math.sqrt(a * a + 4.0 * p * h2 * h2 * b))
    # (27) differentiated
    top = p + dh * q * (3.0 * row[FILM] / h + 2.0 * row[EDGE] + 2.0 * row[JET] * q) / (h2 * h)
    return q, top / (a / (h2 * h) + 2.0 * q * b / h2)


@CHECKED_ENTRY
def gap_for_flow(row: Floats, q: float, p: float) -> float:
    """Lift at which (27) gives a flow at a face pressure above the jet's head; nan when not found. [m]"""
    # p - head q^2 = film q x^3 + (edge + jet q) q x^2 with x = 1/h, a rising and convex function of x
    left = p - row[HEAD] * q * q
    film, wide = row[FILM] * q, (row[EDGE] + row[JET] * q) * q
    x: float = math.sqrt(left / wide) if wide > 0.0 else math.inf
    if film > 0.0:
        x = min(x, (left / film) ** (1.0 / 3.0))
    for _ in range(MOST_STEPS):
        move = ((film * x + wide) * x * x - left) / ((3.0 * film * x + 2.0 * wide) * x)
        x -= move
        if abs(move) < LOG_TOLERANCE * x:
            return 1.0 / x
    return math.nan


@CHECKED_ENTRY
def lifter_flow(row: Floats, table: Floats, knots: Floats, y: float) -> tuple[float, float, float]:
    """Flow (28) at the drop exp(y), its slope against y, log of the face pressure; nan when not found."""
    low, high = y - LOWEST_SHARE, y
    x = y
    before = math.inf
    for _ in range(MOST_STEPS):
        p = math.exp(x)
        h, dh = lift_of(row, table, knots, x)
        q, dq = curtain_flow(row, h, dh, p)
        rest = row[PORT_QUADRATIC] - row[HEAD]
        total = p + q * (row[PORT_LINEAR] + rest * q)
        slope = p + dq * (row[PORT_LINEAR] + 2.0 * rest * q)
        off = math.log(total) - y
        if off > 0.0:
            high = x
        else:
            low = x
        move = off * total / slope
        if abs(move) < LOG_TOLERANCE or high - low < LOG_TOLERANCE:
            return q, dq * (total / slope), x
        # Newton's step unless it leaves the bracket or is no shorter than half the one before
        newer = x - move
        x = newer if low < newer < high and abs(move) < 0.5 * abs(before) else 0.5 * (low + high)
        before = move
    return math.nan, math.nan, math.nan


@CHECKED_ENTRY
def total_flow(
    plain: Floats, lifters: Floats, tables: Floats, knots: Floats, y: float
) -> tuple[float, float]:
    """Flow of all paths at the drop exp(y), and its slope against y; nan when one is not found. [m^3/s]"""
    dp = math.exp(y)
    q, dq = 0.0, 0.0
    for k in range(plain.shape[0]):
        root = math.sqrt(plain[k, 0] ** 2 + 4.0 * plain[k, 1] * dp)
        q += 2.0 * dp / (plain[k, 0] + root)
        dq += dp / root
    for k in range(lifters.shape[0]):
        one, slope, _ = lifter_flow(lifters[k], tables[k], knots[k], y)
        q += one
        dq += slope
    return q, dq


@CHECKED_ENTRY
def drop_for_flow(
    plain: Floats, lifters: Floats, tables: Floats, knots: Floats, flow: float, guess: float
) -> float:
    """Log of the pressure drop that drives a flow, or nan; ``guess`` is where to start, or nan."""
    parts = plain.shape[0] + lifters.shape[0]
    low, high = math.inf, math.inf
    for k in range(plain.shape[0]):
        share = flow / parts
        low = min(low, share * (plain[k, 0] + plain[k, 1] * share))
        high = min(high, flow * (plain[k, 0] + plain[k, 1] * flow))
    for k in range(lifters.shape[0]):
        share = flow / parts
        low = min(
            low, share * (lifters[k, PORT_LINEAR] + (lifters[k, PORT_QUADRATIC] - lifters[k, HEAD]) * share)
        )
    low, high = math.log(low) - 1e-9, math.log(high) + 1e-9
    target = math.log(flow)
    y = guess if low < guess < high else high
    before = math.inf
    for _ in range(MOST_STEPS):
        q, dq = total_flow(plain, lifters, tables, knots, y)
        if math.isnan(q):
            break
        off = math.log(q) - target
        if off > 0.0:
            high = y
        else:
            low = y
        move = off * q / dq
        if abs(move) < LOG_TOLERANCE or high - low < LOG_TOLERANCE:
            return y
        newer = y - move
        y = newer if low < newer < high and abs(move) < 0.5 * abs(before) else 0.5 * (low + high)
        before = move
    return math.nan


@CHECKED_ENTRY
def drops_for_flows(plain: Floats, lifters: Floats, tables: Floats, knots: Floats, flows: Floats) -> Floats:
    """Pressure drops that drive each of the flows, all not negative; nan where none was found. [Pa]"""
    drops = np.zeros(flows.size)
    guess = math.nan
    before = 0.0
    for k in range(flows.size):
        if flows[k] <= 0.0:
            continue
        if before > 0.0:
            guess += math.log(flows[k] / before)
        guess = drop_for_flow(plain, lifters, tables, knots, flows[k], guess)
        drops[k] = math.exp(guess)
        before = flows[k]
    return drops


@CHECKED_ENTRY
def face_pressures(lifters: Floats, tables: Floats, knots: Floats, drops: Floats) -> Floats:
    """Pressure on the face of every lifter at each pressure drop; nan where none was found. [Pa]"""
    found = np.zeros((lifters.shape[0], drops.size))
    for k in range(lifters.shape[0]):
        for j in range(drops.size):
            if drops[j] > 0.0:
                found[k, j] = math.exp(lifter_flow(lifters[k], tables[k], knots[k], math.log(drops[j]))[2])
    return found
