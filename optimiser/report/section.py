"""A stack drawn in half section as SVG: radii to scale, thicknesses enlarged by a factor that is printed."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from damping_model.stack.stack import Shim, Stack
from damping_model.units import MICROMETRE
from optimiser.report.section_labels import Label, labels_of, spread
from optimiser.report.stack_to_build import Seating

WIDTH: Final = 440.0
AXIS: Final = 22.0
"""Where the centre line stands."""
RADIUS_ROOM: Final = 196.0
"""Width from the centre line to the bore."""
LABEL_LEFT: Final = 252.0
LABEL_PITCH: Final = 17.0
LEAST_DRAWN: Final = 10.0
"""Height of the thinnest shim on paper, as long as the stack then stays below its most."""
MOST_STACK: Final = 240.0
HIGHEST: Final = 420.0
PISTON: Final = 74.0
WASHER: Final = 14.0
NUT: Final = 30.0
TOP: Final = 34.0


@dataclass(frozen=True, slots=True)
class _Scale:
    """From metres to the drawing's units."""

    radial: float
    axial: float
    face: float
    """Height on paper of the piston's face."""

    def x(self, radius: float) -> float:
        return AXIS + radius * self.radial

    def y(self, height: float) -> float:
        return self.face - height * self.axial


def section_svg(
    stack: Stack,
    seating: Seating,
    *,
    title: str,
    put_in: Collection[int] = (),
    taken_out: Collection[int] = (),
    beside: Sequence[Stack] = (),
) -> Markup:
    """Half section of a stack on its piston, the piston below, the nut above.

    Parameters
    ----------
    stack : from the piston outwards.
    seating : what it sits on.
    title : for people who hear the page instead of seeing it.
    put_in, taken_out : places, 0 at the piston, to mark as new or to ghost as leaving.
    beside : other stacks drawn beside this one, so that all get one scale.

    Returns
    -------
    Markup
        An ``<svg>`` element, safe to put into a page; every text in it is escaped.
    """
    shims = stack.shims
    bottoms = heights_above_face(stack, clamp_radius=seating.clamp_radius)
    total = max(bottom + shim.thickness for bottom, shim in zip(bottoms, shims, strict=True))
    labels = labels_of(shims, put_in=put_in, taken_out=taken_out, clamp_radius=seating.clamp_radius)
    axial = _axial_scale((stack, *beside))
    drawn = max(total * axial + WASHER + NUT, len(labels) * LABEL_PITCH)
    scale = _Scale(RADIUS_ROOM / seating.bore_radius, axial, TOP + drawn)
    height = scale.face + PISTON + 40
    parts = [
        _piston(seating, shims[0].inner_diameter / 2, scale),
        _clamping(shims[0].inner_diameter / 2, seating, scale, total),
        *(
            _shim(shim, scale, bottom, place in put_in, place in taken_out)
            for place, (shim, bottom) in enumerate(zip(shims, bottoms, strict=True))
        ),
        _labels(labels, bottoms, shims, scale),
        _centre_line(scale, height),
        _scale_note(scale, height),
    ]
    return Markup(
        '<svg class="section" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}">{}</svg>'
    ).format(WIDTH, height, title, Markup("").join(parts))


def _axial_scale(stacks: Sequence[Stack]) -> float:
    """Units of the drawing for a metre of thickness: thin shims stay visible, tall stacks on the page."""
    thinnest = min(shim.thickness for stack in stacks for shim in stack.shims)
    tallest = max(stack.height for stack in stacks)
    longest = max(len(stack.shims) for stack in stacks)
    most = min(max(MOST_STACK, longest * LABEL_PITCH - WASHER - NUT), HIGHEST)
    return min(LEAST_DRAWN / thinnest, most / tallest)


def heights_above_face(stack: Stack, *, clamp_radius: float) -> tuple[float, ...]:
    """Height of each shim's lower side above the piston's face; a ring lies beside what centres it. [m]"""
    heights: list[float] = []
    top = 0.0
    shims = stack.shims
    pending: list[int] = []
    for place, shim in enumerate(shims):
        ring = shim.inner_diameter / 2 > clamp_radius + MICROMETRE
        if not ring:
            for waiting in pending:
                heights[waiting] = top
            pending = []
            heights.append(top)
            top += shim.thickness
            continue
        behind = shims[place + 1] if place + 1 < len(shims) else None
        if behind is not None and behind.outer_diameter <= shim.inner_diameter + MICROMETRE:
            pending.append(place)
            heights.append(top)
        else:
            heights.append(max(top - (shims[place - 1].thickness if place else 0.0), 0.0))
    return tuple(heights)


def _rectangle(left: float, right: float, top: float, bottom: float, css: str) -> Markup:
    return Markup('<rect class="{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>').format(
        css, left, top, max(right - left, 0.5), max(bottom - top, 0.5)
    )


def _shim(shim: Shim, scale: _Scale, bottom: float, new: bool, leaving: bool) -> Markup:
    css = "shim new" if new else "shim leaving" if leaving else "shim"
    return _rectangle(
        scale.x(shim.inner_diameter / 2),
        scale.x(shim.outer_diameter / 2),
        scale.y(bottom + shim.thickness),
        scale.y(bottom),
        css,
    )


def _piston(seating: Seating, hole: float, scale: _Scale) -> Markup:
    """Hub, ports, seat and rim; the face lies at one height from hub to seat, the rim a little below."""
    face, foot = scale.face, scale.face + PISTON
    rim = face + 10
    land = (face, foot)
    parts = [
        _rectangle(scale.x(hole), scale.x(seating.port_inner_radius), *land, "piston"),
        _rectangle(scale.x(seating.port_inner_radius), scale.x(seating.port_outer_radius), *land, "port"),
        _rectangle(scale.x(seating.port_outer_radius), scale.x(seating.seat_radius), *land, "piston"),
        _rectangle(scale.x(seating.seat_radius), scale.x(seating.bore_radius) - 3, rim, foot, "piston"),
        _rectangle(scale.x(seating.bore_radius), scale.x(seating.bore_radius) + 7, TOP - 8, foot + 6, "bore"),
    ]
    middle = (scale.x(seating.port_inner_radius) + scale.x(seating.port_outer_radius)) / 2
    flow = Markup('<path class="flow" d="M{0:.1f} {1:.1f} V{2:.1f} m-4 7 l4 -7 l4 7"/>').format(
        middle, foot - 8, face + 14
    )
    names = [
        (face + 14, scale.x(seating.bore_radius), "bore"),
        (face + 34, scale.x((seating.seat_radius + seating.bore_radius) / 2), "seat and rim"),
        (face + 54, middle, "port"),
    ]
    texts = [
        Markup(
            '<path class="leader" d="M{0:.1f} {1:.1f} H{2:.1f}"/><text x="{3:.1f}" y="{4:.1f}">{5}</text>'
        ).format(x, y, LABEL_LEFT - 4, LABEL_LEFT, y + 4, name)
        for y, x, name in names
    ]
    return Markup("").join([*parts, flow, *texts])


def _clamping(hole: float, seating: Seating, scale: _Scale, total: float) -> Markup:
    """Shaft, clamp washer and nut; only their radii on the shaft's side are true."""
    top = scale.y(total)
    nut = max(1.7 * hole, seating.clamp_radius)
    return Markup("").join(
        [
            _rectangle(AXIS, scale.x(hole), TOP - 20, scale.face + PISTON + 6, "shaft"),
            _rectangle(scale.x(hole), scale.x(seating.clamp_radius), top - WASHER, top, "washer"),
            _rectangle(scale.x(hole), scale.x(nut), top - WASHER - NUT, top - WASHER, "washer"),
            Markup('<text class="inside" x="{:.1f}" y="{:.1f}">nut</text>').format(
                scale.x(hole) + 3, top - WASHER - NUT / 2 + 4
            ),
        ]
    )


def _labels(
    labels: Collection[Label], bottoms: Collection[float], shims: Collection[Shim], scale: _Scale
) -> Markup:
    lower, sized = list(bottoms), list(shims)
    wanted = []
    for label in labels:
        first, last = label.places[0], label.places[-1]
        wanted.append(scale.y((lower[first] + lower[last] + sized[last].thickness) / 2))
    placed = spread(wanted, pitch=LABEL_PITCH, lowest=scale.face - 4, highest=TOP - 8)
    parts = []
    for label, y_shim, y_text in zip(labels, wanted, placed, strict=True):
        x_shim = max(scale.x(sized[place].outer_diameter / 2) for place in label.places) + 2
        parts.append(
            Markup(
                '<path class="leader" d="M{:.1f} {:.1f} L{:.1f} {:.1f} H{:.1f}"/>'
                '<text class="{}" x="{:.1f}" y="{:.1f}">{}</text>'
            ).format(
                x_shim, y_shim, LABEL_LEFT - 16, y_text, LABEL_LEFT - 4,
                label.css, LABEL_LEFT, y_text + 4, label.text,
            )
        )  # fmt: skip
    return Markup("").join(parts)


def _centre_line(scale: _Scale, height: float) -> Markup:
    foot = min(scale.face + PISTON + 12, height)
    return Markup('<path class="centre" d="M{0} 6 V{1:.1f}"/>').format(AXIS, foot)


def _scale_note(scale: _Scale, height: float) -> Markup:
    """Say how much the thicknesses are enlarged against the radii."""
    enlarged = scale.axial / scale.radial
    lines = (
        f"Half section. Radii to scale; thicknesses {enlarged:.1f} times as thick.",
        "Stack drawn flat. Piston, washer and nut shortened.",
    )
    return Markup("").join(
        Markup('<text class="note" x="4" y="{:.1f}">{}</text>').format(height - 18 + 14 * row, line)
        for row, line in enumerate(lines)
    )
