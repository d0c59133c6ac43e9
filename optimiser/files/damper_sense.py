"""Numbers of a damper file held against one another: what contradicts itself, and what is only unusual.

Each number has passed the table of :mod:`optimiser.files.bounds` before. A contradiction is refused; what a
real damper might have all the same is an oddity, said beside every answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from optimiser.files.damper_sections import ChamberSection, ValveSection
from optimiser.files.oil_section import OilSection
from optimiser.files.part_sense import disc, slope
from optimiser.model.oddity import Oddity

ROOM: Final = 1.02
"""How much wider than the piston its own ring may be measured. [-]"""

OTHER_BODY: Final = 2.0
"""How much wider than the piston a valve in a body of its own may be. [-]"""

UNUSUALLY_FLAT: Final = 1.9
"""Under it no damper oil of the trade is known; common practice, no source. [-]"""

UNUSUAL_STROKES: Final = (("piston", "rebound"), ("annulus", "compression"))
"""What pushes in the other stroke than in a damper whose shaft comes in at one end."""

MOST_UNCHARGED: Final = 5.0
"""Gauge pressure of a damper that is opened like any other: a fork's air. [bar]"""


def refuse_contradictions(
    *,
    chambers: Sequence[ChamberSection],
    valves: Sequence[ValveSection],
    piston: float,
    shaft: float,
    gas: float,
    charged: bool,
) -> None:
    """Refuse what the tables of a damper say against one another; diameters in mm, gas in bar."""
    swept = _lost_in_compression(chambers, piston, shaft)
    both = {chamber.shrinks_in for chamber in chambers} == {"compression", "rebound"}
    if both and swept < -1e-6 * disc(piston):
        raise ValueError(
            "chambers that together lose room in compression, as the shaft comes in, got a gain of "
            f"{-swept:.3g} mm² of area; swap compression and rebound in shrinks_in"
        )
    if charged and gas == 0:
        raise ValueError(
            "gas_pressure_bar above 0 where gas_charged = true, got 0; without pressure it is false"
        )
    if not charged and gas > MOST_UNCHARGED:
        raise ValueError(
            f"gas_charged = true where gas_pressure_bar is more than {MOST_UNCHARGED:g}, got false and "
            f"{gas:g}; whoever opens it has to be warned"
        )
    for valve in valves:
        most = piston * (ROOM if _sits_on_piston(chambers, valve) else OTHER_BODY)
        for name, field, width in _widths(valve):
            if width > most:
                raise ValueError(
                    f"{field} of '{name}' of at most {most:.3g}, as the piston of "
                    f"{piston:g} mm leaves room, got {width:.3g}"
                )


def oddities_of(
    *, chambers: Sequence[ChamberSection], valves: Sequence[ValveSection], piston: float, oil: OilSection
) -> Iterator[Oddity]:
    """What is unusual, although a real damper might have it; the piston's diameter in mm."""
    for chamber in chambers:
        if (chamber.area, chamber.shrinks_in) in UNUSUAL_STROKES:
            yield Oddity(
                what=f"shrinks_in of '{chamber.name}'",
                got=f"{chamber.shrinks_in} for the {chamber.area}",
                expected="the piston to push in compression, the annulus around the shaft in rebound",
            )
    for valve in valves:
        for name, field, width in _widths(valve):
            if width > piston * ROOM:
                yield Oddity(
                    what=f"{field} of '{name}'",
                    got=f"{width:.3g} mm",
                    expected=f"at most the piston's {piston:g} mm, unless its body is wider",
                )
        for clicker in valve.clicker:
            idle = sum(closed == opened for closed, opened in pairwise(clicker.area_mm2))
            if idle:
                yield Oddity(
                    what=f"area_mm2 of '{clicker.name}'",
                    got=f"{idle} {'click that changes' if idle == 1 else 'clicks that change'} nothing",
                    expected="an area that grows with every click",
                )
    table = oil.viscosities
    if table is not None and slope(table) < UNUSUALLY_FLAT:
        (_, thick), (hot, thin) = sorted(table.items())
        yield Oddity(
            what=f"viscosity_mm2_s of '{oil.name}'",
            got=f"only {thick / thin:.2g} times thinner at {hot:g} °C",
            expected="an oil that thins more; only silicones thin so little",
        )


def _lost_in_compression(chambers: Sequence[ChamberSection], piston: float, shaft: float) -> float:
    """Area [mm²] that all chambers together lose."""
    named = {"piston": disc(piston), "annulus": disc(piston) - disc(shaft), "shaft": disc(shaft)}
    areas = (
        (named[one.area] if isinstance(one.area, str) else one.area)
        * (1 if one.shrinks_in == "compression" else -1)
        for one in chambers
    )
    return sum(areas)


def _sits_on_piston(chambers: Sequence[ChamberSection], valve: ValveSection) -> bool:
    """Whether a valve joins a chamber of the one stroke to one of the other: it moves with the shaft."""
    strokes = {one.name: one.shrinks_in for one in chambers}
    return {strokes.get(end) for end in valve.between} == {"compression", "rebound"}


def _widths(valve: ValveSection) -> Iterator[tuple[str, str, float]]:
    """Path, field and diameter [mm] of all that has to find room beside or on the piston."""
    for stack in valve.stack:
        yield stack.name, "bore_diameter_mm", stack.bore_diameter_mm
    for bleed in valve.bleed:
        yield bleed.name, "diameter_mm of all holes together", bleed.diameter_mm * math.sqrt(bleed.count)
    for check in valve.check:
        yield check.name, "seat_diameter_mm", check.seat_diameter_mm
    for leak in valve.leak:
        yield leak.name, "diameter_mm", leak.diameter_mm
    for clicker in valve.clicker:
        yield clicker.name, "width of the last of area_mm2", math.sqrt(clicker.area_mm2[-1] / disc(1.0))
