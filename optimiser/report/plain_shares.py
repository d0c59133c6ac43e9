"""Which path makes the force: the part of each over velocity, as a plain drawing without style inside.

Each layer has a hatching and a letter of its own, so that neither grey print nor colour blindness takes
anything away.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from string import ascii_lowercase
from typing import Final

import numpy as np
from markupsafe import Markup

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import Valve
from optimiser.model.percent import share_text
from optimiser.report.plain_axes import (
    BOTTOM,
    HEIGHT,
    RIGHT,
    TOP,
    WIDTH,
    Floats,
    PlainAxes,
    PlotBand,
    grid,
)
from optimiser.report.strokes import STROKES, Stroke
from optimiser.report.unit_system import UnitSystem

LEAST: Final = 0.01
"""A path that never makes more than this share of the force is left out, and its room left white. [-]"""

PATTERNS: Final = (
    '<path class="hatch" d="M0 8 L8 0"/>',
    '<circle class="dot" cx="4" cy="4" r="1.3"/>',
    '<path class="hatch" d="M0 4 H8"/>',
    '<path class="hatch" d="M0 0 L8 8"/>',
    '<path class="hatch" d="M4 0 V8"/>',
    '<path class="hatch" d="M0 8 L8 0 M0 0 L8 8"/>',
    '<path class="hatch" d="M0 4 H8 M4 0 V8"/>',
    "",
)
"""What tells layers apart, in order; the style sheet gives each a ground, ``layer1`` to ``layer8``."""

TOLD_AT: Final = (0.05, 0.1, 0.5, 1.0)
"""Speeds of the words. [m/s]"""


@dataclass(frozen=True, slots=True)
class ShareLayer:
    """The part of the force that one path makes.

    Parameters
    ----------
    mark : its letter.
    path, valve : names.
    speeds : rising. [m/s]
    shares : of the damping force at each. [-]
    """

    mark: str
    path: str
    valve: str
    speeds: tuple[float, ...]
    shares: tuple[float, ...]

    def at(self, speed: float) -> float:
        """Its share at a speed. [-]"""
        return float(np.interp(speed, self.speeds, self.shares))


def share_layers(curve: ForceCurve, valves: Iterable[Valve], stroke: Stroke) -> tuple[ShareLayer, ...]:
    """The parts of the force in a stroke, path by path.

    All paths of a valve work at the same pressure drop; its part of the force is shared out among them by
    the oil that goes through each.

    Parameters
    ----------
    curve : at velocities of both strokes, none of them 0.
    valves : of the damper, in the curve's order.
    stroke : of the shaft.
    """
    own = curve.velocities > 0 if stroke == "compression" else curve.velocities < 0
    order = np.argsort(np.abs(curve.velocities[own]))
    speeds = np.abs(curve.velocities[own])[order]
    force = curve.damping_force[own][order]
    flows = dict(zip(curve.paths, curve.path_flows[:, own][:, order], strict=True))
    found: list[ShareLayer] = []
    for place, valve in enumerate(valves):
        part = curve.shares[place][own][order] / np.where(force == 0, np.inf, force)
        through = [np.abs(flows[path.name]) for path in valve.paths]
        whole = np.sum(through, axis=0)
        for path, flow in zip(valve.paths, through, strict=True):
            share = part * flow / np.where(whole == 0, np.inf, whole)
            if share.max(initial=0.0) > LEAST:
                mark = ascii_lowercase[len(found) % len(ascii_lowercase)]
                found.append(ShareLayer(mark, path.name, valve.name, tuple(speeds), tuple(share)))
    return tuple(found)


def shares_svg(
    curve: ForceCurve,
    valves: Sequence[Valve],
    *,
    units: UnitSystem,
    name: str,
    bands: Sequence[PlotBand] = (),
) -> tuple[tuple[Markup, tuple[ShareLayer, ...]], ...]:
    """One drawing a stroke, with its layers for a legend.

    Parameters
    ----------
    curve, valves : as of :func:`share_layers`.
    units : what the axes are written in.
    name : of the figure, from which names inside it are made; letters and hyphens.
    bands : whose spans are marked.
    """
    drawn = []
    for stroke in STROKES:
        layers = share_layers(curve, valves, stroke)
        if layers:
            own = [band for band in bands if band.stroke == stroke]
            drawn.append((_svg(layers, stroke, units, f"{name}-{stroke}", own), layers))
    return tuple(drawn)


def _svg(
    layers: Sequence[ShareLayer], stroke: Stroke, units: UnitSystem, name: str, bands: Sequence[PlotBand]
) -> Markup:
    speeds = np.asarray(layers[0].speeds)
    axes = PlainAxes(float(speeds[-1]), 0.0, 100.0, spread=False)
    floor, parts, letters = np.zeros_like(speeds), [_patterns(name)], []
    for number, layer in enumerate(layers):
        top = floor + 100 * np.maximum(np.asarray(layer.shares), 0.0)
        parts.append(_layer(axes, speeds, floor, top, number, name))
        thickest = _thickest(axes, speeds, top - floor)
        letters.append(_letter(axes, speeds[thickest], (floor + top)[thickest] / 2, layer.mark))
        floor = top
    parts.append(grid(axes, stroke, units, (0, 20, 40, 60, 80, 100), 1.0, "share, %"))
    parts += [_band(axes, band) for band in bands]
    said = "; ".join(_told(layer, units) for layer in layers)
    words = f"Which path makes the force in {stroke}, in shares from the bottom upwards. {said}."
    return Markup(
        '<svg class="force shares" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}">{}</svg>'
    ).format(WIDTH, HEIGHT, words, Markup("").join([*parts, *letters]))


def _told(layer: ShareLayer, units: UnitSystem) -> str:
    shares = ", ".join(
        f"{share_text(layer.at(speed), 0)} at {units.velocity_text(speed)} {units.velocity_unit}"
        for speed in TOLD_AT
        if speed <= layer.speeds[-1]
    )
    return f"{layer.mark}, {layer.path} of the {layer.valve}: {shares}"


def _thickest(axes: PlainAxes, speeds: Floats, height: Floats) -> int:
    """Where a letter has most room, away from the ends."""
    x = axes.x(speeds)
    inside = (x > x[0] + 12) & (x < WIDTH - RIGHT - 20)
    return int(np.argmax(np.where(inside, height, -1.0)))


def _patterns(name: str) -> Markup:
    return Markup("<defs>{}</defs>").format(
        Markup("").join(
            Markup(
                '<pattern id="{0}-{1}" width="8" height="8" patternUnits="userSpaceOnUse">'
                '<rect class="layer{1}" width="8" height="8"/>{2}</pattern>'
            ).format(name, number, Markup(one))  # noqa: S704  our own strokes, no stranger's text
            for number, one in enumerate(PATTERNS, 1)
        )
    )


def _layer(axes: PlainAxes, speeds: Floats, floor: Floats, top: Floats, number: int, name: str) -> Markup:
    around = [
        *zip(axes.x(speeds), axes.y(top), strict=True),
        *reversed(list(zip(axes.x(speeds), axes.y(floor), strict=True))),
    ]
    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in around)
    return Markup('<polygon class="layer" fill="url(#{}-{})" points="{}"/>').format(
        name, number % len(PATTERNS) + 1, corners
    )


def _letter(axes: PlainAxes, speed: float, share: float, mark: str) -> Markup:
    return Markup(
        '<circle class="spot" cx="{0:.1f}" cy="{1:.1f}" r="9"/>'
        '<text class="number" x="{0:.1f}" y="{2:.1f}">{3}</text>'
    ).format(float(axes.x(speed)), float(axes.y(share)), float(axes.y(share)) + 4, mark)


def _band(axes: PlainAxes, band: PlotBand) -> Markup:
    left, right = (float(axes.x(band.speeds[place])) for place in (0, -1))
    return Markup(
        '<path class="span-edge" d="M{0:.1f} {2:.1f} V{3:.1f} M{1:.1f} {2:.1f} V{3:.1f}"/>'
        '<text class="letter" x="{4:.1f}" y="{5:.1f}">{6}</text>'
    ).format(left, right, TOP, HEIGHT - BOTTOM, (left + right) / 2, TOP - 6, band.mark)
