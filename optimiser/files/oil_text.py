"""An oil as it is typed: a grade, ``VG 15``, or two viscosities, ``16.1@40 3.9@100``."""

from __future__ import annotations

import re
from typing import Final

from damping_model.errors import GeometryError
from damping_model.flow.oil import ISO_VISCOSITY_GRADES, Oil, iso_vg
from damping_model.units import CENTISTOKES, kelvin
from optimiser.errors import InputError

_GRADE: Final = re.compile(r"\s*(?:iso\s*)?vg\s*([0-9]+)\s*", re.IGNORECASE)
_POINTS: Final = re.compile(
    r"\s*([0-9.]+)\s*(?:cst|mm2/s|mm²/s)?\s*@\s*([0-9.]+)[,;\s]+([0-9.]+)\s*(?:cst|mm2/s|mm²/s)?\s*@\s*([0-9.]+)\s*",
    re.IGNORECASE,
)


def oil_from_text(text: str, *, density_15: float, where: str) -> Oil:
    """The oil that a text means.

    Parameters
    ----------
    text : a grade of ISO 3448, or kinematic viscosities [mm²/s, the same as cSt] at two temperatures [°C].
    density_15 : density at 15 °C, which such a text does not say. [kg/m^3]
    where : the option, for messages.

    Raises
    ------
    InputError
        When it is neither, or no oil.
    """
    grade, points = _GRADE.fullmatch(text), _POINTS.fullmatch(text)
    try:
        if grade is not None:
            return iso_vg(int(grade[1]), density_15=density_15)
        if points is not None:
            one, at, other, other_at = map(float, points.groups())
            return Oil(
                name=text.strip(),
                viscosity_points=(
                    (kelvin(celsius=at), one * CENTISTOKES),
                    (kelvin(celsius=other_at), other * CENTISTOKES),
                ),
                density_15=density_15,
            )
    except (GeometryError, ValueError) as error:
        raise InputError(f"{where}: {error}") from None
    grades = ", ".join(str(round(grade)) for grade in ISO_VISCOSITY_GRADES)
    raise InputError(
        f"{where}: got {text!r}, expected a grade such as 'VG 15' (of {grades}), two viscosities in mm²/s "
        "(cSt) with their temperatures in °C, as in '16.1@40 3.9@100', or a damper file whose oil is meant."
    )
