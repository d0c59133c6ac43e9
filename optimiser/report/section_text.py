"""A stack drawn in half section with letters: widths to scale, one line for neighbours that are alike."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from damping_model.units import MILLIMETRE
from optimiser.files.damper_builder import described
from optimiser.files.damper_file import DamperFile
from optimiser.model.damper_description import MountedStack
from optimiser.report.section_labels import labels_of

WIDTH: Final = 36
"""Letters from the centre line to the bore."""


def damper_drawing(damper: DamperFile) -> str:
    """Every stack of a damper, each as it lies on its piston, to hold beside the thing on the bench."""
    stacks = described(damper, source=damper.name).stacks
    return "\n\n".join("\n".join(section_lines(mounted)) for mounted in stacks)


def section_lines(mounted: MountedStack) -> Iterator[str]:
    """Half section of a stack: the nut's side above, the piston below, the centre line on the left.

    Parameters
    ----------
    mounted : the stack in its place; radii in m.
    """
    shims, path = mounted.stack.shims, mounted.path
    bore = mounted.mounting.bore_radius
    hole = mounted.mounting.hole_diameter / 2

    def column(radius: float) -> int:
        return round(WIDTH * radius / bore)

    def line(*parts: tuple[str, float]) -> str:
        """Letters, each up to a radius, with the shaft in front and the bore behind."""
        drawn = "." * column(hole)
        for letter, radius in parts:
            drawn += letter * max(column(radius) - len(drawn), 0)
        return drawn.ljust(WIDTH) + "|"

    yield f"{mounted.name}, half section; '.' shaft, '#' shims, the piston below them"
    labels = labels_of(shims, put_in=(), taken_out=(), clamp_radius=path.seat.clamp_radius)
    for label in reversed(labels):
        shim = shims[label.places[0]]
        inner, outer = shim.inner_diameter / 2, shim.outer_diameter / 2
        yield f"  {line((' ', inner), ('#', outer))}  {label.text}"
    piston = line(
        ("=", path.port_inner_radius),
        (" ", path.port_outer_radius),
        ("=", path.seat.seat_radius),
        ("-", bore),
    )
    yield f"  {piston}  piston: hub '=', port ' ', lip '=' to {_mm(2 * path.seat.seat_radius)}"
    yield (
        f"  {len(shims)} shims, {_mm(mounted.stack.height, decimals=2)} high; hole {_mm(2 * hole)}; "
        f"ports {path.port_count}, {path.port_area / MILLIMETRE**2:.3g} mm² together"
    )


def _mm(length: float, *, decimals: int = 1) -> str:
    return f"{length / MILLIMETRE:.{decimals}f} mm"
