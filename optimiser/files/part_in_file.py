"""Oil, gas pressure and bleeds of a damper as its file says them, read and written anew."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import tomlkit

from damping_model.flow.oil import ISO_VISCOSITY_GRADES, Oil, iso_vg
from damping_model.units import BAR, CENTISTOKES, MILLIMETRE, celsius, kelvin
from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.damper_file import DamperFile
from optimiser.files.writing import write_whole
from optimiser.model.damper_description import FiledParts, FiledValue
from optimiser.model.other_parts import PartKind

OF_AN_OIL: Final = ("name", "iso_vg", "viscosity_mm2_s")
"""The keys of the [oil] table that say which oil it is; density and temperature stay."""

DIGITS: Final = 6
"""After the point, of bar, mm and mm²/s. [-]"""


def parts_of(file: DamperFile) -> FiledParts:
    """The oil, the gas pressure and every bleed of a damper file."""
    oil = file.oil.model_dump(include=set(OF_AN_OIL), exclude_none=True)
    bleeds = {
        (PartKind.BLEED.value, bleed.name): bleed.diameter_mm for valve in file.valve for bleed in valve.bleed
    }
    gas = file.reservoir.gas_pressure_bar
    return {(PartKind.OIL.value, ""): oil, (PartKind.GAS.value, ""): gas, **bleeds}


def filed(kind: PartKind, value: Oil | float) -> FiledValue:
    """A part as a damper file says it.

    Parameters
    ----------
    kind : of the part; a preload ring is a shim of its stack and stands there.
    value : an oil, a gauge pressure [Pa], or the diameter of a bleed's hole [m].
    """
    if not isinstance(value, Oil):
        return round(value / (BAR if kind is PartKind.GAS else MILLIMETRE), DIGITS)
    for grade in map(round, ISO_VISCOSITY_GRADES):
        if iso_vg(grade, density_15=value.density_15).viscosity_points == value.viscosity_points:
            return {"name": value.name, "iso_vg": grade}
    points = {f"{celsius(kelvin=at):g}": round(nu / CENTISTOKES, DIGITS) for at, nu in value.viscosity_points}
    return {"name": value.name, "viscosity_mm2_s": points}


def value_of(kind: PartKind, said: FiledValue, *, density_15: float) -> Oil | float:
    """The part that a damper file says, in SI.

    Parameters
    ----------
    kind : of the part.
    said : as :func:`filed` gives it.
    density_15 : of an oil. [kg/m^3]
    """
    if not isinstance(said, Mapping):
        return float(said) * (BAR if kind is PartKind.GAS else MILLIMETRE)
    name, grade, points = str(said["name"]), said.get("iso_vg"), said.get("viscosity_mm2_s")
    if isinstance(grade, int):
        return iso_vg(grade, density_15=density_15, name=name)
    table: Mapping[str, float] = points if isinstance(points, Mapping) else {}
    cold, hot = sorted((kelvin(celsius=float(at)), nu * CENTISTOKES) for at, nu in table.items())
    return Oil(name=name, viscosity_points=(cold, hot), density_15=density_15)


def write_part(path: Path, kind: str, name: str, value: FiledValue) -> None:
    """Write a part into its damper file, with every other line and comment left alone.

    Parameters
    ----------
    path : the damper file.
    kind, name : which part; no name for oil and gas.
    value : as :func:`filed` gives it.

    Raises
    ------
    InputError
        When the file has no such part, or cannot be written; it is then as it was.
    """
    write_whole(path, with_part_lines(read_text(path, what="damper"), kind, name, value, where=str(path)))


def with_part_lines(text: str, kind: str, name: str, value: FiledValue, *, where: str) -> str:
    """The text of a damper file with another part; ``where`` names the file in messages."""
    document, expected = tomlkit.parse(text), tomllib.loads(text)
    for one in (document, expected):
        _put(one, kind, name, value, where=where)
    written = tomlkit.dumps(document)
    if tomllib.loads(written) != expected:
        raise InputError(
            f"{where}: the {kind} {name or ''} could not be written without touching the rest; do it by hand."
        )
    return written


def _put(document: Any, kind: str, name: str, value: FiledValue, *, where: str) -> None:
    if kind == PartKind.OIL.value and isinstance(value, Mapping):
        table = document["oil"]
        for key in OF_AN_OIL:
            if key in value:
                table[key] = dict(points) if isinstance(points := value[key], Mapping) else value[key]
            elif key in table:
                del table[key]
    elif kind == PartKind.GAS.value:
        document["reservoir"]["gas_pressure_bar"] = value
    else:
        bleeds = [
            one for valve in document["valve"] for one in valve.get("bleed", ()) if one.get("name") == name
        ]
        if len(bleeds) != 1:
            raise InputError(
                f"{where}: got {len(bleeds)} bleeds named {name!r}, expected one. Write it by hand."
            )
        bleeds[0]["diameter_mm"] = value
