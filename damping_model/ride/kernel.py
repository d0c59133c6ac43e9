r"""Equations of motion of a body on one or two corners, compiled.

For corner :math:`i` let :math:`b_i` be the height of the body over it and :math:`u_i` that of the wheel,
both counted so that :math:`x_i = u_i - b_i` is wheel travel from full extension, and the tyre is unloaded
where :math:`u_i` is the height :math:`z_i` of the road. With motion ratio :math:`M`, shaft velocity
:math:`s' = M x'` and stops :math:`R`, the suspension pushes body and wheel apart by

.. math:: P_i = E(x) + R(x, x') + M [D(s') + F \tanh(s'/s_0)]

(:math:`E` spring and gas at the wheel, :math:`D` damper, :math:`F` friction of seals, smoothed over
:math:`s_0`), and the tyre pushes the wheel up by :math:`T_i`, never down. With loads :math:`L_i` on the
body and :math:`l_i` on the wheel, as a linkage takes them past the spring,

.. math:: b_i'' = \sum_j W_{ij} (P_j + L_j) - g, \qquad m_i u_i'' = T_i - P_i + l_i - m_i g.

:math:`W` is the inverse of the body's mass matrix at the corners. Beside the motion run the integrals of what
goes in and what is lost, so that a balance of energy holds a whole ride against itself.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.ride.jit import ENTRY, PART
from damping_model.units import STANDARD_GRAVITY

Floats = NDArray[np.float64]

STOPS: Final = 3
"""Top-out spring, end-of-travel spring, and the end itself."""

LEDGER: Final = 6
"""Integrals of a corner: work of road and load; losses in damper, friction, tyre and stops."""

MASS, TYRE_RATE, TYRE_DAMPING, TYRE_RAMP, FRICTION, SMOOTHED, FIRST_STOP = range(7)
"""Places of a corner's figures; each stop has side, start, force over depth squared, and damping."""

FIGURES: Final = FIRST_STOP + 4 * STOPS

TRAVEL, VELOCITY, SHAFT_VELOCITY, ELASTIC, DAMPER, RUBBED, STOP, ELASTIC_STOP, TYRE, TYRE_LOSS, BODY, ROAD = (
    range(12)
)
"""Places of what a corner does at an instant; BODY is the body's acceleration, ROAD the road's height."""

SEEN: Final = 12


@PART
def _hermite(left: float, right: float, slope: float, other: float, width: float, at: float) -> float:
    """Cubic through two values and slopes, at a share of the width between them."""
    rest = 1.0 - at
    return rest * rest * ((1.0 + 2.0 * at) * left + at * width * slope) + at * at * (
        (3.0 - 2.0 * at) * right - rest * width * other
    )


@PART
def _hermite_slope(left: float, right: float, slope: float, other: float, width: float, at: float) -> float:
    """Slope of the same cubic."""
    return (
        6.0 * at * (1.0 - at) * (right - left) / width
        + (1.0 - at) * (1.0 - 3.0 * at) * slope
        + at * (3.0 * at - 2.0) * other
    )


@PART
def _along_travel(table: Floats, row: int, step: float, x: float) -> float:
    """A quantity tabulated over wheel travel; straight on beyond its ends."""
    last = table.shape[1] - 1
    if x <= 0.0:
        return float(table[row, 0] + x * table[row + 1, 0])
    if x >= last * step:
        return float(table[row, last] + (x - last * step) * table[row + 1, last])
    k = min(int(x / step), last - 1)
    return _hermite(
        table[row, k], table[row, k + 1], table[row + 1, k], table[row + 1, k + 1], step, x / step - k
    )


@PART
def _damper_force(curve: Floats, velocity: float) -> float:
    """Damping force at a shaft velocity; straight on beyond the ends of the curve."""
    last = curve.shape[1] - 1
    if velocity <= curve[0, 0]:
        return float(curve[1, 0] + (velocity - curve[0, 0]) * curve[2, 0])
    if velocity >= curve[0, last]:
        return float(curve[1, last] + (velocity - curve[0, last]) * curve[2, last])
    low, high = 0, last
    while high - low > 1:
        middle = (low + high) // 2
        if curve[0, middle] <= velocity:
            low = middle
        else:
            high = middle
    width = curve[0, high] - curve[0, low]
    return _hermite(
        curve[1, low],
        curve[1, high],
        curve[2, low],
        curve[2, high],
        width,
        (velocity - curve[0, low]) / width,
    )


@PART
def _at_time(inputs: Floats, row: int, step: float, time: float) -> tuple[float, float]:
    """An input of the ride and its slope; as at the end after it."""
    last = inputs.shape[1] - 1
    at = time / step
    if at >= last:
        return float(inputs[row, last]), 0.0
    k = int(at) if at > 0.0 else 0
    args = inputs[row, k], inputs[row, k + 1], inputs[row + 1, k], inputs[row + 1, k + 1], step, at - k
    return _hermite(*args), _hermite_slope(*args)


@PART
def _observe_corner(
    figures: Floats,
    table: Floats,
    travel_step: float,
    curve: Floats,
    road: tuple[float, float],
    motion: tuple[float, float, float, float],
    seen: Floats,
) -> None:
    """Travel, velocities and forces of one corner; all but the body's acceleration."""
    height, rising, wheel, wheel_rising = motion
    x, closing = wheel - height, wheel_rising - rising
    ratio = _along_travel(table, 2, travel_step, x)
    shaft = ratio * closing
    seen[TRAVEL], seen[VELOCITY], seen[SHAFT_VELOCITY] = x, closing, shaft
    seen[ELASTIC] = _along_travel(table, 0, travel_step, x)
    seen[DAMPER] = ratio * _damper_force(curve, shaft)
    seen[RUBBED] = ratio * figures[FRICTION] * math.tanh(shaft / figures[SMOOTHED])
    seen[STOP] = seen[ELASTIC_STOP] = 0.0
    for k in range(STOPS):
        first = FIRST_STOP + 4 * k
        side = figures[first]
        deep = side * (x - figures[first + 1])
        if deep > 0.0:
            elastic = figures[first + 2] * deep * deep
            seen[ELASTIC_STOP] += side * elastic
            seen[STOP] += side * elastic * max(1.0 + figures[first + 3] * side * closing, 0.0)
    seen[ROAD] = road[0]
    deep = road[0] - wheel
    seen[TYRE] = seen[TYRE_LOSS] = 0.0
    if deep > 0.0:
        squeezing = road[1] - wheel_rising
        damping = figures[TYRE_DAMPING] * min(deep / figures[TYRE_RAMP], 1.0)
        seen[TYRE] = max(figures[TYRE_RATE] * deep + damping * squeezing, 0.0)
        seen[TYRE_LOSS] = (seen[TYRE] - figures[TYRE_RATE] * deep) * squeezing


@ENTRY
def motion(
    state: Floats,
    time: float,
    figures: Floats,
    tables: Floats,
    curves: Floats,
    inputs: Floats,
    weights: Floats,
    steps: Floats,
) -> Floats:
    """Rate of change of a state at a time; arguments as those of :func:`observe`."""
    count = figures.shape[0]
    rate = np.zeros(state.size)
    seen = np.empty((count, SEEN))
    push = np.empty(count)
    for i in range(count):
        road = _at_time(inputs[i], 0, steps[1], time)
        load = _at_time(inputs[i], 2, steps[1], time)[0]
        moving = state[i], state[count + i], state[2 * count + i], state[3 * count + i]
        _observe_corner(figures[i], tables[i], steps[2 + i], curves[i], road, moving, seen[i])
        spring = seen[i, ELASTIC] + seen[i, STOP] + seen[i, DAMPER] + seen[i, RUBBED]
        past = _at_time(inputs[i], 4, steps[1], time)[0]
        push[i] = spring + load
        rate[i] = moving[1]
        rate[2 * count + i] = moving[3]
        rate[3 * count + i] = (seen[i, TYRE] - spring + past) / figures[i, MASS] - STANDARD_GRAVITY
        first = 4 * count + LEDGER * i
        by_road = seen[i, TYRE] * road[1]
        by_load = load * moving[1] + past * moving[3]
        rate[first] = by_road
        rate[first + 1] = by_load
        rate[first + 2] = seen[i, DAMPER] * seen[i, VELOCITY]
        rate[first + 3] = seen[i, RUBBED] * seen[i, VELOCITY]
        rate[first + 4] = seen[i, TYRE_LOSS]
        rate[first + 5] = (seen[i, STOP] - seen[i, ELASTIC_STOP]) * seen[i, VELOCITY]
        rate[state.size - 1] += abs(by_road) + abs(by_load)
    for i in range(count):
        rate[count + i] = -STANDARD_GRAVITY
        for j in range(count):
            rate[count + i] += weights[i, j] * push[j]
    return rate


@ENTRY
def observe(
    states: Floats,
    times: Floats,
    figures: Floats,
    tables: Floats,
    curves: Floats,
    inputs: Floats,
    weights: Floats,
    steps: Floats,
) -> Floats:
    """What every corner does at every instant (corners, SEEN, times).

    Parameters
    ----------
    states : heights and velocities of body and wheels, then the integrals (times, states).
    times : of the states. [s]
    figures : masses, tyre, friction, stops (corners, FIGURES).
    tables : spring force and motion ratio over wheel travel, each with its slope (corners, 4, travels).
    curves : velocities, damping forces, slopes (corners, 3, velocities).
    inputs : road, load on the body and load on the wheel over time, each with its slope (corners, 6, times).
    weights : inverse of the body's mass matrix (corners, corners). [1/kg]
    steps : nothing, of time, and of each corner's travel (2 + corners,).
    """
    count = figures.shape[0]
    found = np.empty((count, SEEN, times.size))
    seen = np.empty((count, SEEN))
    for n in range(times.size):
        for i in range(count):
            road = _at_time(inputs[i], 0, steps[1], times[n])
            row = states[n]
            moving = row[i], row[count + i], row[2 * count + i], row[3 * count + i]
            _observe_corner(figures[i], tables[i], steps[2 + i], curves[i], road, moving, seen[i])
        for i in range(count):
            total = -STANDARD_GRAVITY
            for j in range(count):
                load = _at_time(inputs[j], 2, steps[1], times[n])[0]
                spring = seen[j, ELASTIC] + seen[j, STOP] + seen[j, DAMPER] + seen[j, RUBBED]
                total += weights[i, j] * (spring + load)
            seen[i, BODY] = total
            for k in range(SEEN):
                found[i, k, n] = seen[i, k]
    return found
