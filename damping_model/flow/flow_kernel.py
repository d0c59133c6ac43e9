"""Flow through paths in parallel against pressure drop, and its inverse: the compiled inner loop.

A set of paths is three arrays. ``plain`` (paths, 2): linear and quadratic resistance. ``lifters`` (paths,
11): plates that rise from a lip, in columns as named below. ``tables`` and ``knots``: lift against pressure
of those plates that are shim stacks, see :mod:`damping_model.stack.lift_table`. All flows here run in one
direction and are positive.
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

OPENING, GIVE, STOP = 7, 8, 9
"""Columns of a spring-backed plate: pressure that it opens at, lift per pressure beyond, most lift."""

COLUMNS: Final = 10
PLATE, STACK = 0.0, 1.0

TIGHT: Final = 1e-13
"""Newton ends when the logarithm of the pressure moves by less. [-]"""

MOST_STEPS: Final = 200
"""Steps of any root search; bisection alone would need 60."""

REACH: Final = 25.0
"""How far beyond a table's ends its lift is followed, in the logarithm of pressure. [-]"""

LOCKED: Final = 1e9
"""Pressure that no damper holds: 10,000 bar. [Pa]"""


@CHECKED_ENTRY
def lift_of(row: Floats, table: Floats, knots: Floats, x: float) -> tuple[float, float]:
    """Lift of a plate at the pressure exp(x), and its slope against x."""
    p = math.exp(x)
    if row[KIND] == PLATE:
        over = (p - row[OPENING]) * row[GIVE]
        if over <= 0.0:
            return 0.0, 0.0
        part = (over / row[STOP]) ** 4
        lift = over / (1.0 + part) ** 0.25
        return lift, lift / over / (1.0 + part) * p * row[GIVE]
    shift, turn = 0.0, 0.0
    many = knots.shape[1]
    if many > 1:
        # another stack lifts as much as the table's own at another pressure: its logarithm lies off by this
        k = 0
        while k < many - 1 and x > knots[0, k + 1]:
            k += 1
        if x <= knots[0, 0] or k == many - 1:
            shift = knots[1, 0 if x <= knots[0, 0] else many - 1]
        else:
            turn = (knots[1, k + 1] - knots[1, k]) / (knots[0, k + 1] - knots[0, k])
            shift = knots[1, k] + turn * (x - knots[0, k])
    lift, slope = own_lift(row, table, x + shift)
    return lift, slope * (1.0 + turn)


@CHECKED_ENTRY
def own_lift(row: Floats, table: Floats, x: float) -> tuple[float, float]:
    """Lift that a table gives for its own stack at the pressure exp(x), and its slope against x."""
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
    """Log of the pressure at which a table's own stack lifts as much, more than none."""
    low, high = row[FIRST] - REACH, row[FIRST] + row[STEP] * (row[COUNT] - 1.0) + REACH
    aim, before = math.log(lift), math.inf
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
            move = (math.log(here) - aim) * here / slope
            newer = x - move
        if abs(move) < TIGHT or high - low < TIGHT:
            break
        x = newer if low < newer < high and abs(move) < 0.5 * abs(before) else 0.5 * (low + high)
        before = move
    return x


@CHECKED_ENTRY
def shifts_of(row: Floats, table: Floats, logs: Floats, lifts: Floats) -> Floats:
    """Shifts of log pressure by which a stack of known lifts is told by a table's own stack, at rising logs.

    Where the other stack is still shut its shift is that of the next pressure that opens it, so that it opens
    about where it should; but no more than leaves the table's own stack shut.
    """
    shut = row[FIRST] - REACH
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


@CHECKED_ENTRY
def curtain_flow(row: Floats, h: float, dh: float, p: float) -> tuple[float, float]:
    """Flow over the lip at lift h and face pressure p, and its slope against ln p."""
    if h <= 0.0:
        return 0.0, 0.0
    h2 = h * h
    a = row[FILM] + row[EDGE] * h
    b = row[JET] + row[HEAD] * h2
    q = 2.0 * p * h2 * h / (a + math.sqrt(a * a + 4.0 * p * h2 * h2 * b))
    # p = q (film/h^3 + edge/h^2) + q^2 (jet/h^2 + head), differentiated
    top = p + dh * q * (3.0 * row[FILM] / h + 2.0 * row[EDGE] + 2.0 * row[JET] * q) / (h2 * h)
    return q, top / (a / (h2 * h) + 2.0 * q * b / h2)


@CHECKED_ENTRY
def gap_for_flow(row: Floats, q: float, p: float) -> float:
    """Lift at which a flow goes over the lip at a face pressure that is more than the jet's head."""
    # p - head q^2 = film q x^3 + (edge + jet q) q x^2 with x = 1/h, a rising and convex function of x
    left = p - row[HEAD] * q * q
    film, wide = row[FILM] * q, (row[EDGE] + row[JET] * q) * q
    x = math.sqrt(left / wide) if wide > 0.0 else math.inf
    if film > 0.0:
        x = min(x, (left / film) ** (1.0 / 3.0))
    for _ in range(MOST_STEPS):
        move = ((film * x + wide) * x * x - left) / ((3.0 * film * x + 2.0 * wide) * x)
        x -= move
        if abs(move) < TIGHT * x:
            break
    return 1.0 / x


@CHECKED_ENTRY
def lifter_flow(row: Floats, table: Floats, knots: Floats, y: float) -> tuple[float, float, float]:
    """Flow of ports and curtain in series at drop exp(y), its slope against y, log of the face pressure."""
    low, high = y - 60.0, y
    x = y
    q, dq, before = 0.0, 0.0, math.inf
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
        dq *= total / slope
        if abs(move) < TIGHT or high - low < TIGHT:
            break
        # Newton's step unless it leaves the bracket or is no shorter than half the one before
        newer = x - move
        x = newer if low < newer < high and abs(move) < 0.5 * abs(before) else 0.5 * (low + high)
        before = move
    return q, dq, x


@CHECKED_ENTRY
def total_flow(
    plain: Floats, lifters: Floats, tables: Floats, knots: Floats, y: float
) -> tuple[float, float]:
    """Flow of all paths at the pressure drop exp(y), and its slope against y."""
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
    """Log of the pressure drop that drives a flow, nan if not found; ``guess`` is where to start, or nan."""
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
    aim = math.log(flow)
    y = guess if low < guess < high else high
    before = math.inf
    for _ in range(MOST_STEPS):
        q, dq = total_flow(plain, lifters, tables, knots, y)
        off = math.log(q) - aim
        if off > 0.0:
            high = y
        else:
            low = y
        move = off * q / dq
        if abs(move) < TIGHT or high - low < TIGHT:
            return y
        newer = y - move
        y = newer if low < newer < high and abs(move) < 0.5 * abs(before) else 0.5 * (low + high)
        before = move
    return math.nan


@CHECKED_ENTRY
def drops_for_flows(plain: Floats, lifters: Floats, tables: Floats, knots: Floats, flows: Floats) -> Floats:
    """Pressure drops that drive each of the flows, all not negative."""
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
    """Pressure on the face of every lifter at each pressure drop."""
    found = np.zeros((lifters.shape[0], drops.size))
    for k in range(lifters.shape[0]):
        for j in range(drops.size):
            if drops[j] > 0.0:
                found[k, j] = math.exp(lifter_flow(lifters[k], tables[k], knots[k], math.log(drops[j]))[2])
    return found
