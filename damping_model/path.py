"""The plates of a stack followed from pressure to pressure: Newton with contact, one compiled call for a whole curve."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from damping_model.contact import contact_points, openings, pivot, push_through, solve_envelope, overlap
from damping_model.plate import assemble, factor, forward, grid_integrals, load_vector, plate_elements

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_STEPS = 30
"""Newton steps at one pressure before the way to it is halved."""

MOST_HALVINGS = 12
"""Times that the way to one pressure may be halved before the stack is called unsolved."""

NEAR_RIM = np.array([0.04e-3, 0.12e-3])
"""Extra nodes this far within a crossover's rim, where it is squeezed between wider packs. [m]"""

STEP_END = 1e-6
"""Newton ends when its last step is this share of the lift: the next would be about the square of it. [-]"""


@njit(cache=True, nogil=True)
def radial_grid(clamp: float, rims: Floats, extra: Floats, elements: float) -> Floats:
    """Nodes from the clamp to the widest rim: every rim and every extra radius, and finer near the clamp."""
    marks = np.empty(rims.size + extra.size + 1)
    marks[0] = clamp
    count = 1
    widest = clamp
    for k in range(rims.size):
        widest = max(widest, rims[k])
    for k in range(rims.size + extra.size):
        v = rims[k] if k < rims.size else extra[k - rims.size]
        new = clamp + 1e-9 < v <= widest + 1e-9
        for j in range(count):
            if abs(marks[j] - v) < 1e-9:
                new = False
        if new:
            marks[count] = v
            count += 1
    marks = np.sort(marks[:count])
    size = (widest - clamp) / elements
    parts = np.empty(count - 1, np.int64)
    total = 1
    for k in range(count - 1):
        middle = 0.5 * (marks[k] + marks[k + 1]) - clamp
        local = size * min(1.0, 0.4 + 0.3 * middle / size)
        parts[k] = max(1, int(np.ceil((marks[k + 1] - marks[k]) / local - 1e-6)))
        total += parts[k]
    r = np.empty(total)
    r[0] = clamp
    n = 0
    for k in range(count - 1):
        for j in range(1, parts[k] + 1):
            n += 1
            r[n] = marks[k] + (marks[k + 1] - marks[k]) * j / parts[k]
    return r


@njit(cache=True, nogil=True)
def newton(
    p: float, q: Floats, active: Flags, force: Floats, r: Floats, nu: float, plates: Ints, last: Ints, packs: Floats,
    stiff: Floats, slope: Floats, load: Floats, tilt: Floats, face: int, ends: Ints, gaps: Floats, ease: float, soft: float,
    diagonal: Floats, coupling: Floats, pull: Floats, inverse: Floats, inner: Floats, z: Floats, d: Floats,
    half: Floats, whole: Floats, s: Floats, first: Ints, pressing: Ints, tight: float,
) -> tuple[int, int, float]:  # fmt: skip
    """Equilibrium at pressure p from the guess q, in place. Steps taken (negative: failed), pressing points, last step."""
    gap = np.empty(ends.shape[0])
    shifted = gaps.copy()
    if ease < 1:
        for c in range(ends.shape[0]):
            shifted[c, 0] = gaps[c, 0] * ease if gaps[c, 0] < 0 else gaps[c, 0]
    leaning = stiff[face] + p * tilt
    step = np.inf
    for it in range(1, MOST_STEPS + 1):
        for t in plates:
            assemble(
                r,
                last[t],
                q[t],
                packs[t, 2],
                nu,
                leaning if t == face else stiff[t],
                slope[t],
                diagonal[t],
                coupling[t],
                inner[t],
            )
        for c in range(ends.shape[0]):
            if force[c] > 0:
                diagonal[ends[c, 3], ends[c, 2], 1, 1] += 2 * gaps[c, 1] * force[c]
        for t in plates:
            if not factor(last[t], diagonal[t], coupling[t], pull[t], inverse[t]):
                return -it, 0, step
            for n in range(1, last[t] + 1):
                for i in range(3):
                    z[t, n, i] = -inner[t, n, i]
            if t == face:
                for n in range(1, last[t] + 1):
                    z[t, n, 0] += p * load[n, 0]
                    z[t, n, 1] += p * load[n, 1]
            forward(1, last[t], pull[t], z[t])
        openings(q, ends, shifted, gap)
        count, sound = pivot(
            z,
            gap,
            active,
            force,
            q,
            ends,
            gaps,
            last,
            plates,
            pull,
            inverse,
            soft,
            half,
            whole,
            s,
            first,
            pressing,
            d,
        )
        if not sound:
            return -it, count, step
        step, size = 0.0, 0.0
        for t in plates:
            for n in range(1, last[t] + 1):
                step = max(step, abs(d[t, n, 0]))
                for i in range(3):
                    q[t, n, i] += d[t, n, i]
                size = max(size, abs(q[t, n, 0]))
        if not np.isfinite(step):
            return -it, count, step
        if step <= tight * size + 1e-14:
            return it, count, step
    return -MOST_STEPS, 0, step


@njit(cache=True, nogil=True)
def tangent(
    plates: Ints, last: Ints, load: Floats, face: int, pressing: Ints, count: int, ends: Ints, half: Floats,
    whole: Floats, pull: Floats, inverse: Floats, s: Floats, first: Ints, z: Floats, dq: Floats,
) -> None:  # fmt: skip
    """Change of q with pressure, from the last factors and pressing points."""
    for t in plates:
        z[t] = 0.0
    for n in range(1, last[face] + 1):
        z[face, n, 0], z[face, n, 1] = load[n, 0], load[n, 1]
    forward(1, last[face], pull[face], z[face])
    x = np.empty(count)
    for a in range(count):
        c = pressing[a]
        v = 0.0
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                v -= overlap(whole[c, side], z[plate], ends[c, 2], last[plate])
        x[a] = v
    solve_envelope(count, s, first, x)
    push_through(z, pressing, count, x, ends, last, plates, half, pull, inverse, dq)


@njit(cache=True, nogil=True)
def follow(
    clamp: float, nu: float, packs: Floats, rings: Floats, seat: Floats, thick: float, give: float, radii: Floats, shares: Floats,
    offset: float, pressures: Floats, elements: float, soft: float, tight: float, start_q: Floats, start_active: Flags,
):  # type: ignore[no-untyped-def]  # noqa: ANN201  # fmt: skip
    """Lifted shapes at every pressure, rising.

    Parameters
    ----------
    packs : rows of outer radius, bending, stretching, shear, height.
    start_q : shapes of a neighbour on the same grid at as many pressures, or none.

    Returns
    -------
    r, last, ends, gaps, q, dq, force, active, steps; ``steps[k] <= 0`` where pressure k was not reached.
    """
    count = packs.shape[0]
    extra = np.zeros(2 + 2 * rings.shape[0] + NEAR_RIM.size * count)
    extra[0] = seat[1]
    extra[1] = seat[4] if seat[3] > 0 else 0.0
    for k in range(rings.shape[0]):
        extra[2 + 2 * k], extra[3 + 2 * k] = rings[k, 1], rings[k, 2]
    made = 2 + 2 * rings.shape[0]
    before = packs[0, 0]
    for k in range(1, count):
        after = 0.0
        for j in range(k + 1, count):
            after = max(after, packs[j, 0])
        if packs[k, 0] < min(before, after) - 1e-9:
            for j in range(NEAR_RIM.size):
                extra[made] = packs[k, 0] - NEAR_RIM[j]
                made += 1
        before = max(before, packs[k, 0])
    r = radial_grid(clamp, packs[:, 0].copy(), extra, elements)
    nodes = r.size
    last = np.zeros(count, np.int64)
    present = 0
    for k in range(count):
        if packs[k, 1] > 0 and packs[k, 0] > clamp + 1e-9:
            for n in range(1, nodes):
                if abs(r[n] - packs[k, 0]) < 1e-9:
                    last[k] = n
            present += 1
    plates = np.empty(present, np.int64)
    made = 0
    for k in range(count):
        if last[k] > 0:
            plates[made] = k
            made += 1
    face = plates[0]
    bend, area = grid_integrals(r, nu)
    stiff = np.zeros((count, nodes - 1, 4, 4))
    slope = np.zeros((count, nodes - 1, 2, 4))
    angle = np.zeros((nodes - 1, 4))
    load = np.zeros((nodes, 2))
    for k in range(present - 1, -1, -1):
        t = plates[k]
        plate_elements(r, last[t], packs[t, 1], packs[t, 3], bend, area, stiff[t], slope[t], angle)
    tilt = np.zeros((nodes - 1, 4, 4))
    load_vector(r, last[face], radii, shares, angle, load, tilt)
    tilt *= offset
    ends, gaps = contact_points(r, last, packs[:, 0].copy(), packs[:, 4].copy(), rings, seat, thick, give)
    total = ends.shape[0]

    diagonal = np.empty((count, nodes, 3, 3))
    coupling = np.empty((count, nodes, 3, 3))
    pull = np.empty((count, nodes, 3, 3))
    inverse = np.empty((count, nodes, 3, 3))
    inner = np.empty((count, nodes, 3))
    z = np.zeros((count, nodes, 3))
    d = np.zeros((count, nodes, 3))
    half = np.empty((total, 2, nodes, 3))
    whole = np.empty((total, 2, nodes, 3))
    s = np.empty((total, total))
    first = np.empty(total, np.int64)
    pressing = np.empty(total, np.int64)

    many = pressures.size
    all_q = np.zeros((many, count, nodes, 3))
    all_dq = np.zeros((many, count, nodes, 3))
    all_force = np.zeros((many, total))
    all_active = np.zeros((many, total), np.bool_)
    steps = np.zeros(many, np.int64)

    q = np.zeros((count, nodes, 3))
    dq = np.zeros((count, nodes, 3))
    guess = np.zeros((count, nodes, 3))
    force = np.zeros(total)
    active = np.zeros(total, np.bool_)
    was = np.zeros(total, np.bool_)
    held = np.zeros(total)
    at = 0.0
    strained = False
    for c in range(total):
        active[c] = gaps[c, 0] <= 1e-12
        strained = strained or gaps[c, 0] < -1e-12
    warm = start_q.shape[0] == many and start_q.shape[1] == count and start_q.shape[2] == nodes
    started = False
    for k in range(many):
        p = pressures[k]
        taken = 0
        if warm:
            guess[:] = start_q[k]
            if start_active.shape[1] == total:
                was[:] = start_active[k]
            else:
                was[:] = active
            held[:] = 0.0
            n_steps, pressed, _ = newton(
                p, guess, was, held, r, nu, plates, last, packs, stiff, slope, load, tilt, face, ends, gaps, 1.0, soft,
                diagonal, coupling, pull, inverse, inner, z, d, half, whole, s, first, pressing, tight,
            )  # fmt: skip
            if n_steps > 0:
                taken = n_steps
        if taken == 0 and not started:
            # at rest: rings and a proud seat strain the stack before any pressure does
            ease = 1.0 if not strained else 0.0
            rise = 1.0
            q[:] = 0.0
            force[:] = 0.0
            sound = True
            while ease < 1.0:
                goal = min(1.0, ease + rise)
                guess[:] = q
                was[:] = active
                held[:] = force
                n_steps, pressed, _ = newton(
                    0.0, guess, was, held, r, nu, plates, last, packs, stiff, slope, load, tilt, face, ends, gaps, goal, soft,
                    diagonal, coupling, pull, inverse, inner, z, d, half, whole, s, first, pressing, tight,
                )  # fmt: skip
                if n_steps > 0:
                    q[:], active[:], force[:] = guess, was, held
                    ease = goal
                else:
                    rise *= 0.5
                    if rise < 0.5**MOST_HALVINGS:
                        sound = False
                        break
            if not sound:
                break
            dq[:] = 0.0
            at = 0.0
        if taken == 0:
            started = True
            way = p - at
            smallest = abs(way) * 0.5**MOST_HALVINGS
            if p == 0.0 and at == 0.0:
                way = 0.0
            arrived = False
            while not arrived:
                goal = p if abs(p - at) <= abs(way) * (1 + 1e-9) else at + way
                for t in plates:
                    for n in range(1, last[t] + 1):
                        for i in range(3):
                            guess[t, n, i] = q[t, n, i] + (goal - at) * dq[t, n, i]
                was[:] = active
                held[:] = force
                n_steps, pressed, _ = newton(
                    goal, guess, was, held, r, nu, plates, last, packs, stiff, slope, load, tilt, face, ends, gaps, 1.0, soft,
                    diagonal, coupling, pull, inverse, inner, z, d, half, whole, s, first, pressing, tight,
                )  # fmt: skip
                taken += abs(n_steps)
                if n_steps > 0:
                    arrived = goal == p
                    if not arrived:
                        q[:], active[:], force[:] = guess, was, held
                        at = goal
                        tangent(
                            plates,
                            last,
                            load,
                            face,
                            pressing,
                            pressed,
                            ends,
                            half,
                            whole,
                            pull,
                            inverse,
                            s,
                            first,
                            z,
                            dq,
                        )
                else:
                    way *= 0.5
                    if abs(way) < smallest or way == 0.0:
                        break
            if not arrived:
                break
        q[:], active[:], force[:] = guess, was, held
        at = p
        started = True
        tangent(
            plates, last, load, face, pressing, pressed, ends, half, whole, pull, inverse, s, first, z, dq
        )
        all_q[k], all_dq[k], all_force[k], all_active[k] = q, dq, force, active
        steps[k] = taken
    return r, last, ends, gaps, all_q, all_dq, all_force, all_active, steps
