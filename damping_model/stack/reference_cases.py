"""Stacks with known deflections, read from a file: finite elements, or a tuner's own bench test.

The file is JSON. ``cases`` is a list, each with ``id``, ``inputs`` in millimetres (``rc`` clamp radius,
``r1`` to ``r2`` the pressed ring, ``r_seat`` where lift is read, ``shims`` from the piston outwards as
``od``, ``t``, ``id``), ``E_mpa``, ``nu``, and ``rows`` of ``p_mpa`` and ``lift_seat_mm``; ``lift_edge_mm``
and ``wall_s`` are optional. No seat lies below the first shim.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from damping_model.errors import ModelError
from damping_model.stack.lift import FacePressure, Seat
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel
from damping_model.units import MEGAPASCAL, MILLIMETRE

MOST_CASES: Final = 500
MOST_ROWS: Final = 200
MOST_SHIMS: Final = 60
"""Of one stack; where all differ, more would be computed for minutes."""

LONGEST_NAME: Final = 80
"""What is shown of a case's id, or of a value in a message. [characters]"""

LEAST, MOST = 1e-6, 1e7
"""What any length in mm, pressure or modulus in MPa and time in s of a bench lies within."""


class ReferenceFileError(ModelError):
    """A reference file that cannot be read, or a field in it that makes no sense."""


@dataclass(frozen=True, slots=True)
class ReferencePoint:
    """One measured or computed deflection.

    Parameters
    ----------
    pressure : on the ring. [Pa]
    seat_lift : at the seat's radius. [m]
    edge_lift : at the rim, where given. [m]
    """

    pressure: float
    seat_lift: float
    edge_lift: float | None


@dataclass(frozen=True, slots=True)
class ReferenceCase:
    """One stack with its deflections.

    Parameters
    ----------
    name : the case's id.
    stack, steel, seat, load : what was pressed, and how.
    points : by rising pressure as the file has them.
    wall_time : what the reference took to compute, where given. [s]
    """

    name: str
    stack: Stack
    steel: SpringSteel
    seat: Seat
    load: FacePressure
    points: tuple[ReferencePoint, ...]
    wall_time: float | None


def reference_cases(text: str, *, name: str) -> tuple[ReferenceCase, ...]:
    """Read the text of a reference file.

    Parameters
    ----------
    text : of the JSON file.
    name : of the file, for messages.

    Raises
    ------
    ReferenceFileError
        When it is no JSON, or a field is missing or out of range; it names file, case and field.
    """
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        raise ReferenceFileError(f"{name}, line {error.lineno}: not JSON ({error.msg}).") from error
    except (RecursionError, ValueError) as error:
        raise ReferenceFileError(
            f"{name}: got lists inside lists or a number without end, expected a few digits and levels."
        ) from error
    cases = document.get("cases") if isinstance(document, dict) else None
    if not isinstance(cases, list) or not cases:
        raise ReferenceFileError(f"{name}: got no list 'cases', expected at least one case in it.")
    if len(cases) > MOST_CASES:
        raise ReferenceFileError(
            f"{name}: got {len(cases)} cases, expected at most {MOST_CASES}. Part the file."
        )
    return tuple(_case(name, place, case) for place, case in enumerate(cases, 1))


def _case(file: str, place: int, case: object) -> ReferenceCase:
    where = f"{file}, case {place}"
    fields = _table(where, "case", case)
    given = fields.get("id", place)
    name = given[:LONGEST_NAME] if isinstance(given, str) else str(place)
    where = f"{file}, case {name}"
    inputs = _table(where, "inputs", fields.get("inputs"))
    shims = []
    for number, shim in enumerate(_list(where, "inputs.shims", inputs.get("shims"), most=MOST_SHIMS), 1):
        here = f"inputs.shims[{number}]"
        sizes = _table(where, here, shim)
        shims.append(
            Shim(*(_number(where, f"{here}.{key}", sizes.get(key)) * MILLIMETRE for key in ("od", "t", "id")))
        )
    clamp, inner, outer, seat = (
        _number(where, f"inputs.{key}", inputs.get(key)) * MILLIMETRE for key in ("rc", "r1", "r2", "r_seat")
    )
    points = []
    for number, row in enumerate(_list(where, "rows", fields.get("rows"), most=MOST_ROWS), 1):
        values = _table(where, f"rows[{number}]", row)
        edge = values.get("lift_edge_mm")
        points.append(
            ReferencePoint(
                _number(where, f"rows[{number}].p_mpa", values.get("p_mpa")) * MEGAPASCAL,
                _number(where, f"rows[{number}].lift_seat_mm", values.get("lift_seat_mm")) * MILLIMETRE,
                None if edge is None else _number(where, f"rows[{number}].lift_edge_mm", edge) * MILLIMETRE,
            )
        )
    wall = fields.get("wall_s")
    try:
        steel = SpringSteel(
            youngs_modulus=_number(where, "E_mpa", fields.get("E_mpa")) * MEGAPASCAL,
            poisson_ratio=_number(where, "nu", fields.get("nu")),
        )
    except ReferenceFileError:
        raise
    except ModelError as error:
        raise ReferenceFileError(f"{where}: {error}") from error
    return ReferenceCase(
        name,
        Stack(tuple(shims)),
        steel,
        Seat(clamp_radius=clamp, seat_radius=seat, has_seat=False),
        FacePressure((inner, outer), (1.0, 1.0)),
        tuple(points),
        None if wall is None else _number(where, "wall_s", wall),
    )


def _table(where: str, field: str, value: object) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise ReferenceFileError(
            f"{where}: field '{field}': got {_shown(value)}, expected a table of named values."
        )
    return value


def _list(where: str, field: str, value: object, *, most: int) -> list[Any]:
    if not isinstance(value, list) or not 0 < len(value) <= most:
        raise ReferenceFileError(
            f"{where}: field '{field}': got {_shown(value)}, expected 1 to {most} entries."
        )
    return value


def _number(where: str, field: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not value > 0:
        raise ReferenceFileError(f"{where}: field '{field}': got {_shown(value)}, expected a number above 0.")
    if not LEAST <= value <= MOST:
        raise ReferenceFileError(
            f"{where}: field '{field}': got {_shown(value)}, expected {LEAST:g} to {MOST:g}. Check its unit."
        )
    return float(value)


def _shown(value: object) -> str:
    """A value as it stands in a message: a long one is named by its kind alone."""
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, int) and abs(value) > MOST:
        return "a very large number"
    return repr(value)[:LONGEST_NAME]
