"""Lift of a plate against the pressure on its face: the compiled inner loop reads it from a row and a table.

A plate is a row of :data:`COLUMNS` numbers, in columns as named below. One on a spring follows equation (26).
One that is a shim stack has a table of its compliance besides, equation (29), and knots that say how another
stack's pressures differ from the table's own, equation (30): see :mod:`damping_model.stack.lift_table`.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import CHECKED_ENTRY

Floats = NDArray[np.float64]

KIND, PORT_LINEAR, PORT_QUADRATIC, FILM, EDGE, JET, HEAD = 0, 1, 2, 3, 4, 5, 6
"""Columns of a lifter: what it is; resistances of its ports and its curtain; half the density over the ports'
area squared where the jet's head presses on the plate, else 0."""

FIRST, STEP, COUNT = 7, 8, 9
"""Columns of a shim stack: log of the first pressure, step of the log, number of nodes."""

OPENING, COMPLIANCE, STOP = 7, 8, 9
"""Columns of a spring-backed plate: pressure that it opens at, lift per pressure beyond, most lift."""

COLUMNS: Final = 10
PLATE, STACK = 0.0, 1.0

LOG_TOLERANCE: Final = 1e-13
"""A root search ends when the logarithm of the pressure moves by less. [-]"""

MOST_STEPS: Final = 200
"""Steps of any root search; bisection alone would need 60."""

BEYOND_TABLE: Final = 25.0
"""How far beyond a table's ends its lift is followed, in the logarithm of pressure. [-]"""


@CHECKED_ENTRY
def lift_of(row: Floats, table: Floats, knots: Floats, x: float) -> tuple[float, float]:
    """Lift of a plate at the pressure exp(x), and its slope against x. [m]

    Parameters
    ----------
    row : of the plate.
    table : compliance and its slope against x at each node, where the plate is a stack (2, nodes).
    knots : logarithms of pressure, and the shift of each (2, knots); a single knot for no shift.
    x : logarithm of the pressure on the face.
    """
    p = math.exp(x)
    if row[KIND] == PLATE:
        # (26)
        over = (p - row[OPENING]) * row[COMPLIANCE]
        if over <= 0.0:
            return 0.0, 0.0
        part = (over / row[STOP]) ** 4
        lift = over / (1.0 + part) ** 0.25
        return lift, lift / over / (1.0 + part) * p * row[COMPLIANCE]
    shift, turn = 0.0, 0.0
    count = knots.shape[1]
    if count > 1:
        # (30): delta and its slope
        k = 0
        while k < count - 1 and x > knots[0, k + 1]:
            k += 1
        if x <= knots[0, 0] or k == count - 1:
            shift = knots[1, 0 if x <= knots[0, 0] else count - 1]
        else:
            turn = (knots[1, k + 1] - knots[1, k]) / (knots[0, k + 1] - knots[0, k])
            shift = knots[1, k] + turn * (x - knots[0, k])
    lift, slope = own_lift(row, table, x + shift)
    return lift, slope * (1.0 + turn)


@CHECKED_ENTRY
def own_lift(row: Floats, table: Floats, x: float) -> tuple[float, float]:
    """Lift (29) that a table gives for its own stack at the pressure exp(x), and its slope against x. [m]"""
    p = math.exp(x)
    at = (x - row[FIRST]) / row[STEP]
    count = int(row[COUNT])
    if at <= 0.0 or at >= count - 1.0:
        end = 0 if at <= 0.0 else count - 1
        value = table[0, end]
        if value <= 0.0:
            return 0.0, 0.0
        power = max(table[1, end] / value, -1.0)
        c = value * math.exp(power * (x - row[FIRST] - row[STEP] * end))
        return c * p, (1.0 + power) * c * p
    k = int(at)
    t = at - k
    y0, y1 = table[0, k], table[0, k + 1]
    s0, s1 = table[1, k] * row[STEP], table[1, k + 1] * row[STEP]
    a, b = 3.0 * (y1 - y0) - 2.0 * s0 - s1, s0 + s1 - 2.0 * (y1 - y0)
    c = y0 + t * (s0 + t * (a + t * b))
    dc = (s0 + t * (2.0 * a + 3.0 * t * b)) / row[STEP]
    return c * p, (c + dc) * p


@CHECKED_ENTRY
def own_pressure(row: Floats, table: Floats, lift: float) -> float:
    """Log of the pressure at which a table's own stack has a lift above 0; nan when none was found."""
    low, high = row[FIRST] - BEYOND_TABLE, row[FIRST] + row[STEP] * (row[COUNT] - 1.0) + BEYOND_TABLE
    target, before = math.log(lift), math.inf
    x: float = 0.5 * (low + high)
    for _ in range(MOST_STEPS):
        here, slope = own_lift(row, table, x)
        if here > lift:
            high = x
        else:
            low = x
        newer: float = low
        move = math.inf
        if here > 0.0 and slope > 0.0:
            move = (math.log(here) - target) * here / slope
            newer = x - move
        if abs(move) < LOG_TOLERANCE or high - low < LOG_TOLERANCE:
            return x
        x = newer if low < newer < high and abs(move) < 0.5 * abs(before) else 0.5 * (low + high)
        before = move
    return math.nan


@CHECKED_ENTRY
def shifts_of(row: Floats, table: Floats, logs: Floats, lifts: Floats) -> Floats:
    """Shifts delta (30) of a stack of known lifts against a table's own, at rising logs; nan where not found.

    Where the other stack is still shut its shift is that of the next pressure that opens it, so that it opens
    about where it should; but no more than leaves the table's own stack shut.
    """
    shut = row[FIRST] - BEYOND_TABLE
    for k in range(int(row[COUNT])):
        if table[0, k] > 0.0:
            break
        shut = row[FIRST] + row[STEP] * k
    shifts = np.zeros(logs.size)
    after = math.inf
    for k in range(logs.size - 1, -1, -1):
        opened = lifts[k] > 0.0
        after = own_pressure(row, table, lifts[k]) - logs[k] if opened else min(after, shut - logs[k])
        shifts[k] = after
    return shifts
