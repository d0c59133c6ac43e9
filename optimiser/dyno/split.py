"""Gas and friction taken off as what they are: an offset of both strokes, and a drag against the motion."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from damping_model.units import BAR
from optimiser.dyno.given import Settled
from optimiser.dyno.near_zero import AtRest
from optimiser.dyno.run import DynoRun, SplitOff

KNOWN_WELL: Final = 0.2
"""A gas force that may be off by a larger share of itself is not taken off. [-]"""

ALWAYS_WELL: Final = 5.0
"""One that is known to this is. [N]"""

FILL: Final = 0.15
"""How far off a gauge's reading of the fill may be. [-]"""


def split_off(
    found: Sequence[tuple[DynoRun, AtRest | None]],
    settled: Settled,
    *,
    shaft_section: float | None = None,
    filled_to: float | None = None,
) -> tuple[DynoRun, ...]:
    """Runs of one damper with gas and friction split off, as far as any of them tells.

    A slow run speaks for all that were filled to the same pressure; friction is the same in all.

    Parameters
    ----------
    found : runs, with their forces at rest where they tell them.
    settled : what a person says.
    shaft_section : area that the gas pushes on, when the damper is known. [m^2]
    filled_to : gas pressure of the damper's description, for runs that name none. [Pa]
    """
    drags = [(run, rest) for run, rest in found if rest is not None and rest.tells_friction]
    friction, of_friction = _friction(drags, settled)
    runs = []
    for run, _ in found:
        alike = [
            (other, rest)
            for other, rest in found
            if rest is not None and rest.slow and other.gas_pressure == run.gas_pressure
        ]
        pressure = filled_to if run.gas_pressure is None else run.gas_pressure
        gas, of_gas = _gas(alike, settled, shaft_section, pressure)
        runs.append(replace(run, gas=gas, friction=friction, notes=(*run.notes, of_gas, of_friction)))
    return tuple(runs)


def _gas(
    alike: Sequence[tuple[DynoRun, AtRest]],
    settled: Settled,
    section: float | None,
    pressure: float | None,
) -> tuple[SplitOff | None, str]:
    if settled.gas_force is not None:
        how = f"Gas: {settled.gas_force:.4g} N are taken off, as you say."
        return SplitOff(force=settled.gas_force, plus_minus=0.0, how=how), how
    best = min(alike, key=lambda one: one[1].gas_plus_minus, default=None)
    doubtful = ""
    if best is not None:
        run, rest = best
        force, limit = rest.gas, rest.gas_plus_minus
        if limit <= max(ALWAYS_WELL, KNOWN_WELL * abs(force)):
            found = "half the sum of both strokes, carried to rest" if rest.speed else "the force at rest"
            how = (
                f"Gas: {force:.4g} N are taken off, give or take {limit:.2g} N: {found} in run '{run.name}'."
            )
            if section is not None and pressure:
                how += (
                    f" On the shaft's section that is {force / section / BAR:.3g} bar; "
                    f"{pressure / BAR:.3g} bar are named."
                )
            return SplitOff(force=force, plus_minus=limit, how=how), how
        doubtful = f" Run '{run.name}' tells no better than {force:.3g} N, give or take {limit:.2g} N."
    if section is not None and pressure:
        force = section * pressure
        how = (
            f"Gas: {force:.4g} N are taken off, give or take {FILL * force:.2g} N: the fill of "
            f"{pressure / BAR:.3g} bar on the shaft's section.{doubtful}"
        )
        return SplitOff(force=force, plus_minus=FILL * force, how=how), how
    return None, (
        f"Gas: not known, and left in.{doubtful} A sine no faster than 0.02 m/s in the same file tells it, "
        "or say --gas-force."
    )


def _friction(drags: Sequence[tuple[DynoRun, AtRest]], settled: Settled) -> tuple[SplitOff | None, str]:
    if settled.friction_force is not None:
        how = f"Friction: {settled.friction_force:.4g} N are taken off, as you say."
        return SplitOff(force=settled.friction_force, plus_minus=0.0, how=how), how
    best = min(drags, key=lambda one: one[1].plus_minus, default=None)
    if best is None:
        return None, (
            "Friction: not known, and left in. It takes a sine no faster than 0.02 m/s and valves that bleed "
            "before they open; or say --friction."
        )
    run, rest = best
    how = (
        f"Friction: {rest.friction:.3g} N are taken off, give or take {rest.plus_minus:.2g} N: half the "
        f"difference of both strokes, carried to rest in run '{run.name}'."
    )
    return SplitOff(force=rest.friction, plus_minus=rest.plus_minus, how=how), how
