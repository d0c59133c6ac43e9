"""A band by its name with a figure in percent, as an option of a command."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from optimiser.errors import InputError
from optimiser.jobs.variant import Variant


def by_band(option: str, given: Iterable[str]) -> dict[str, float]:
    """Shares of the force before by the name of the band. [-]

    Parameters
    ----------
    option : that was given, for messages.
    given : ``BAND=PERCENT``, as it was typed.

    Raises
    ------
    InputError
        When that is not what was typed, or one band is named twice.
    """
    shares: dict[str, float] = {}
    for text in given:
        band, _, figure = text.rpartition("=")
        name, share = band.strip(), _share(figure)
        if not name or not math.isfinite(share):
            raise InputError(
                f'{option}: got "{text}", expected a band and a figure in percent: {option} "high speed=6.4".'
            )
        if name in shares:
            raise InputError(f"{option}: got '{name}' twice, expected each band once. Leave one out.")
        shares[name] = share
    return shares


def asked_otherwise(tolerances: Iterable[str], shifts: Iterable[str], **more: Any) -> Variant:
    """What is asked otherwise than a job's file says, from the options of a command.

    Parameters
    ----------
    tolerances, shifts : ``BAND=PERCENT`` of --hold and of --ask, as they were typed.
    more : the rest of the variant.

    Raises
    ------
    InputError
        As :func:`by_band` does.
    """
    return Variant(tolerances=by_band("--hold", tolerances), shifts=by_band("--ask", shifts), **more)


def _share(figure: str) -> float:
    try:
        return float(figure.strip().removesuffix("%")) / 100
    except ValueError:
        return math.nan
