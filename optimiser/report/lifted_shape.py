"""A lifted stack in half section as a plain drawing: each pack's shape, and how far its shims are stressed.

Packs are told apart by their outlines. How far one is stressed stands in words beside it, and is hatched the
closer the nearer it comes to the limit, so that the drawing needs no colour.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from markupsafe import Markup

from optimiser.documents.lift import StackLift
from optimiser.model.percent import share_text
from optimiser.model.stock import ShimKey
from optimiser.report.section_labels import spread
from optimiser.report.unit_system import UnitSystem

WIDTH: Final = 560.0
LEFT, ROOM = 20.0, 300.0
"""Where the shaft's axis stands, and the width to the outermost rim."""
TOP, FOOT = 16.0, 60.0
TALLEST: Final = 240.0
LIFTS_DRAWN: Final = 60.0
"""Height on paper of the highest lift, as long as the stack then stays below its tallest."""
PITCH: Final = 17.0
HATCHES: Final = (0.5, 0.8, 1.0)
"""Shares of the limit from which a pack is hatched, closer each time. [-]"""


def lifted_shape_svg(lifted: StackLift, *, speed: float, units: UnitSystem, name: str) -> Markup:
    """A stack as it stands at the highest pressure of its lift.

    Parameters
    ----------
    lifted : the stack.
    speed : of the shaft at which it stands so, for the words. [m/s]
    units : what people read.
    name : of the figure, from which names inside it are made; letters and hyphens.
    """
    packs = lifted.packed.packs
    shapes = [lifted.shape(place) for place in range(len(packs))]
    widest = max(pack.outer_radius for pack in packs)
    highest_lift = max((float(rise.max()) for radii, rise in shapes if radii.size), default=0.0)
    height = sum(pack.height for pack in packs)
    axial = min(TALLEST / (height + highest_lift), LIFTS_DRAWN / max(highest_lift, 1e-9))
    radial = ROOM / widest
    face = TOP + (height + highest_lift) * axial
    shares, rows = _shares(lifted), []
    parts, floor = [_hatches(name)], 0.0
    for place, (pack, (radii, rise)) in enumerate(zip(packs, shapes, strict=True)):
        if radii.size:
            low = np.column_stack([LEFT + radii * radial, face - (floor + rise) * axial])
            high = np.column_stack([LEFT + radii * radial, face - (floor + pack.height + rise) * axial])
            corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in (*low, *high[::-1]))
            level = sum(shares[place][1] >= limit for limit in HATCHES)
            parts.append(Markup('<polygon class="pack" points="{}"/>').format(corners))
            if level:
                parts.append(Markup('<polygon fill="url(#{}-{})" points="{}"/>').format(name, level, corners))
            rows.append((float(high[-1, 0]), float((low[-1, 1] + high[-1, 1]) / 2), shares[place][0]))
        floor += pack.height
    parts.append(_seat(lifted, radial, face))
    parts.append(_labels(rows, face))
    seat_lift = units.length_text(float(lifted.curve.seat_lift[-1]))
    pressure = units.pressure_text(float(lifted.curve.pressures[-1]))
    at = f"{units.velocity_text(speed)} {units.velocity_unit}"
    said = (
        f"{lifted.path.name} at {at}: {pressure} across it, {seat_lift} lift at the seat. "
        f"From the piston outwards: {'; '.join(words for _, _, words in rows)}."
    )
    note = (
        f"At {at}, {pressure} across it, {seat_lift} at the seat. Heights {axial / radial:.0f} times as high."
    )
    return Markup(
        '<svg class="lifted" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0:.0f} {1:.0f}" role="img" '
        'aria-label="{2}">{3}<text class="note" x="4" y="{4:.1f}">{5}</text></svg>'
    ).format(WIDTH, face + FOOT, said, Markup("").join(parts), face + FOOT - 8, note)


def _shares(lifted: StackLift) -> list[tuple[str, float]]:
    """For each pack its shims and their highest stress in words, and that as a share of the limit."""
    limit = lifted.steel.fatigue_limit
    by_shim = {one.shim - 1: one.von_mises / limit for one in lifted.stresses}
    found = []
    for place in range(len(lifted.packed.packs)):
        own = [shim for shim, pack in enumerate(lifted.packed.places) if pack == place]
        share = max((by_shim.get(shim, 0.0) for shim in own), default=0.0)
        keys = [ShimKey.of(lifted.path.stack.shims[shim]) for shim in own]
        what = f"{len(keys)} of {keys[0]}" if len(keys) > 1 else str(keys[0]) if keys else "clamp"
        found.append((f"{what}: {share_text(share, 0)} of the limit", share))
    return found


def _seat(lifted: StackLift, radial: float, face: float) -> Markup:
    """The lip and the ports below the stack, and the clamp's circle."""
    seat, path = lifted.path.seat, lifted.path
    inner, outer = (LEFT + radius * radial for radius in (path.port_inner_radius, path.port_outer_radius))
    lip, clamp = LEFT + seat.seat_radius * radial, LEFT + seat.clamp_radius * radial
    return Markup(
        '<rect class="piston" x="{0:.1f}" y="{1:.1f}" width="{2:.1f}" height="22"/>'
        '<rect class="piston" x="{3:.1f}" y="{1:.1f}" width="{4:.1f}" height="22"/>'
        '<path class="flow" d="M{5:.1f} {6:.1f} v-14 m-4 6 l4 -6 l4 6"/>'
        '<path class="centre" d="M{7:.1f} {8:.1f} V{9:.1f}"/>'
    ).format(
        LEFT,
        face,
        inner - LEFT,
        outer,
        max(lip - outer, 2.0),
        (inner + outer) / 2,
        face + 22,
        clamp,
        TOP - 8,
        face + 22,
    )


def _labels(rows: list[tuple[float, float, str]], face: float) -> Markup:
    placed = spread([y for _, y, _ in rows], pitch=PITCH, lowest=face + 24, highest=TOP)
    return Markup("").join(
        Markup(
            '<path class="leader" d="M{0:.1f} {1:.1f} L{2:.1f} {3:.1f}"/>'
            '<text x="{4:.1f}" y="{5:.1f}">{6}</text>'
        ).format(x + 2, y, LEFT + ROOM + 14, at, LEFT + ROOM + 18, at + 4, words)
        for (x, y, words), at in zip(rows, placed, strict=True)
    )


def _hatches(name: str) -> Markup:
    return Markup("<defs>{}</defs>").format(
        Markup("").join(
            Markup(
                '<pattern id="{0}-{1}" width="{2}" height="{2}" patternUnits="userSpaceOnUse" '
                'patternTransform="rotate(45)"><path class="hatch" d="M0 0 V{2}"/></pattern>'
            ).format(name, level, 12 / level)
            for level in range(1, len(HATCHES) + 1)
        )
    )
