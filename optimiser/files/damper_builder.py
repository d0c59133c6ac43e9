"""From a damper file to the description that the rest of the program knows."""

from __future__ import annotations

import math
from pathlib import Path

from damping_model.damper.damper import Chamber, Damper, Valve
from damping_model.errors import GeometryError
from damping_model.flow.oil import Oil, iso_vg
from damping_model.flow.path_set import FlowPath
from damping_model.flow.paths import Bleed, CheckPlate, Clicker, RingLeak
from damping_model.flow.shim_valve import ShimValve
from damping_model.units import BAR, CENTISTOKES, MILLIMETRE, SQUARE_MILLIMETRE, kelvin
from optimiser.files.base import read_toml
from optimiser.files.damper_file import DamperFile
from optimiser.files.damper_sections import ChamberSection, StackSection, ValveSection
from optimiser.files.damper_sense import oddities_of
from optimiser.files.fitted_damper import KnownDamper, with_fit
from optimiser.files.mountings import mounting_of, seat_of, stack_of
from optimiser.files.not_measured import unmeasured_of
from optimiser.files.oil_section import OilSection
from optimiser.files.part_in_file import parts_of
from optimiser.model.damper_description import DamperDescription, MountedStack


def read_damper(path: Path) -> DamperDescription:
    """Read a damper file, with the fit beside it where there is one.

    Parameters
    ----------
    path : the file.

    Raises
    ------
    InputError
        When the file or the fit beside it cannot be read, or a value is out of range.
    GeometryError
        When spaces and valves do not join up.
    """
    return read_known_damper(path).description


def read_known_damper(path: Path) -> KnownDamper:
    """The same with what is known of its unknown figures; fails as :func:`read_damper` does."""
    file = read_toml(path, DamperFile, what="damper")
    return with_fit(described(file, source=str(path)), file, path)


def read_typed_damper(path: Path) -> DamperDescription:
    """A damper as its file describes it, whatever a fit says; fails as :func:`read_damper` does."""
    return described(read_toml(path, DamperFile, what="damper"), source=str(path))


def described(file: DamperFile, *, source: str) -> DamperDescription:
    """The description that a damper's file amounts to; ``source`` stands for the file in messages."""
    try:
        damper = _damper(file)
    except GeometryError as error:
        raise GeometryError(f"{source}: {error}" if source else str(error)) from None
    return DamperDescription(
        source=source,
        damper=damper,
        stacks=tuple(
            MountedStack(path=damper.stack_path(section.name), mounting=mounting_of(section))
            for valve in file.valve
            for section in valve.stack
        ),
        stroke=file.stroke_mm * MILLIMETRE,
        gas_charged=file.gas_charged,
        in_a_fork=file.fits == "fork",
        assembly=file.assembly.assembly(),
        oddities=tuple(
            oddities_of(
                chambers=file.chamber, valves=file.valve, piston=file.piston_diameter_mm, oil=file.oil
            )
        ),
        not_measured=unmeasured_of(file.not_measured),
        filed=parts_of(file),
    )


def _damper(file: DamperFile) -> Damper:
    return Damper(
        name=file.name,
        chambers=tuple(
            Chamber(name=chamber.name, swept_area=_swept_area(file, chamber)) for chamber in file.chamber
        ),
        reservoir=file.reservoir.name,
        gas_pressure=file.reservoir.gas_pressure_bar * BAR,
        valves=tuple(
            Valve(
                name=valve.name,
                from_chamber=valve.between[0],
                to_chamber=valve.between[1],
                paths=tuple(_paths(valve)),
            )
            for valve in file.valve
        ),
        oil=_oil(file.oil),
        temperature=kelvin(celsius=file.oil.temperature_c),
        friction=file.friction_n,
        shaft_section=math.pi * (file.shaft_diameter_mm * MILLIMETRE) ** 2 / 4,
    )


def _oil(section: OilSection) -> Oil:
    if section.viscosity_mm2_s is None:
        return iso_vg(section.iso_vg or 0, density_15=section.density_kg_m3, name=section.name)
    cold, hot = sorted((float(celsius), nu) for celsius, nu in section.viscosity_mm2_s.items())
    return Oil(
        name=section.name,
        viscosity_points=(
            (kelvin(celsius=cold[0]), cold[1] * CENTISTOKES),
            (kelvin(celsius=hot[0]), hot[1] * CENTISTOKES),
        ),
        density_15=section.density_kg_m3,
    )


def _swept_area(file: DamperFile, chamber: ChamberSection) -> float:
    piston = math.pi * (file.piston_diameter_mm * MILLIMETRE) ** 2 / 4
    shaft = math.pi * (file.shaft_diameter_mm * MILLIMETRE) ** 2 / 4
    named = {"piston": piston, "annulus": piston - shaft, "shaft": shaft}
    area = named[chamber.area] if isinstance(chamber.area, str) else chamber.area * SQUARE_MILLIMETRE
    return area if chamber.shrinks_in == "compression" else -area


def _paths(valve: ValveSection) -> list[FlowPath]:
    paths: list[FlowPath] = [_stack(valve, section) for section in valve.stack]
    paths += [
        Bleed(
            name=bleed.name,
            diameter=bleed.diameter_mm * MILLIMETRE,
            length=bleed.length_mm * MILLIMETRE,
            count=bleed.count,
            direction=_direction(valve, bleed.opens_towards),
        )
        for bleed in valve.bleed
    ]
    paths += [
        Clicker(
            name=clicker.name,
            areas=tuple(area * SQUARE_MILLIMETRE for area in clicker.area_mm2),
            position=clicker.clicks_out,
            direction=_direction(valve, clicker.opens_towards),
        )
        for clicker in valve.clicker
    ]
    paths += [
        CheckPlate(
            name=check.name,
            direction=_direction(valve, check.opens_towards),
            port_area=check.port_area_mm2 * SQUARE_MILLIMETRE,
            seat_radius=check.seat_diameter_mm * MILLIMETRE / 2,
            opening_pressure=check.opening_pressure_bar * BAR,
            spring_rate=check.spring_rate_n_mm / MILLIMETRE,
            lift_stop=check.lift_stop_mm * MILLIMETRE,
        )
        for check in valve.check
    ]
    paths += [
        RingLeak(
            name=leak.name,
            diameter=leak.diameter_mm * MILLIMETRE,
            clearance=leak.clearance_mm * MILLIMETRE,
            length=leak.length_mm * MILLIMETRE,
            eccentricity=leak.eccentricity,
        )
        for leak in valve.leak
    ]
    return paths


def _stack(valve: ValveSection, section: StackSection) -> ShimValve:
    return ShimValve(
        name=section.name,
        direction=_direction(valve, section.opens_towards),
        stack=stack_of(section),
        seat=seat_of(section),
        port_inner_radius=section.port_inner_diameter_mm * MILLIMETRE / 2,
        port_outer_radius=section.port_outer_diameter_mm * MILLIMETRE / 2,
        port_area=section.port_area_mm2 * SQUARE_MILLIMETRE,
        port_length=section.port_length_mm * MILLIMETRE,
        port_count=section.port_count,
        open_share=section.open_share,
        port_discharge=section.port_discharge,
        curtain_discharge=section.curtain_discharge,
        momentum=section.momentum,
    )


def _direction(valve: ValveSection, towards: str | None) -> int:
    if towards is None:
        return 0
    return 1 if towards == valve.between[1] else -1
