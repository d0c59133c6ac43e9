"""Clicks, temperatures and ranges of velocity as they are typed for a picture of curves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimiser.errors import InputError


def positions(settings: Iterable[str], known: Mapping[str, int], *, option: str) -> dict[str, list[int]]:
    """Clicks out to try, by clicker, as in ``rebound=2,7``.

    Parameters
    ----------
    settings : as they were typed.
    known : clickers with their most clicks out.
    option : for messages.

    Raises
    ------
    InputError
        When there is no such clicker or position.
    """
    clicks: dict[str, list[int]] = {}
    for setting in settings:
        name, _, asked = setting.partition("=")
        if name not in known:
            names = ", ".join(map(repr, known)) or "none"
            raise InputError(f"{option}: got {name!r}, expected one of {names}.")
        texts = [text.strip() for text in asked.split(",")]
        if not all(text.isdecimal() and int(text) <= known[name] for text in texts):
            raise InputError(
                f"{option}: got {setting!r}, expected positions from 0 to {known[name]}, "
                f"as in '{name}=0,{known[name]}'."
            )
        clicks[name] = [int(text) for text in texts]
    return clicks


def temperatures(text: str | None, *, option: str) -> list[float]:
    """Oil temperatures, as in ``20,60``. [°C]"""
    if text is None:
        return []
    try:
        warmths = [float(part) for part in text.split(",")]
    except ValueError:
        warmths = []
    if not warmths or not all(-30 <= warmth <= 150 for warmth in warmths):
        raise InputError(f"{option}: got {text!r}, expected temperatures from -30 to 150, as in 20,40,60.")
    return warmths


def spans(texts: Iterable[str], *, option: str) -> list[tuple[str, float, float]]:
    """Named ranges of velocity, as in ``support=0.05-0.15``. [m/s]"""
    found = []
    for text in texts:
        name, _, span = text.partition("=")
        low, _, high = span.partition("-")
        try:
            ends = float(low), float(high)
        except ValueError:
            ends = (0.0, 0.0)
        if not 0 < ends[0] < ends[1] <= 10:
            raise InputError(
                f"{option}: got {text!r}, expected a name and two rising speeds in m/s, as in low=0.05-0.15."
            )
        found.append((name, *ends))
    return found
