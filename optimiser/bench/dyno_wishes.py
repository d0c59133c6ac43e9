"""What a person says of dyno files in a page's form, before what is derived from them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from optimiser.dyno.given import Settled
from optimiser.errors import InputError
from optimiser.files.dyno.facts import Facts
from optimiser.files.dyno.reader import SaidOfFiles
from optimiser.files.dyno.typed import column_of, force_typed, length_typed, pressure_typed, temperature_typed
from optimiser.intake.brackets import Adjuster

LONGEST: Final = 40
LONGEST_COLUMNS: Final = 600
SAMPLE_RATES: Final = (10.0, 20_000.0)
MOST_CYCLES: Final = 10_000
SIGNS: Final = ("positive", "negative")


@dataclass(frozen=True, slots=True)
class DynoField:
    """A figure of the form.

    Parameters
    ----------
    name : of the field.
    words : beside it.
    like : an example.
    choices : that it has; none for a figure that is typed.
    """

    name: str
    words: str
    like: str = ""
    choices: tuple[str, ...] = ()


FIELDS: Final = (
    DynoField("temperature", "Temperature of the damper", "40 C"),
    DynoField("gas pressure", "Filled to, gauge", "14 bar"),
    DynoField("stroke", "Stroke of the dyno, end to end", "50 mm"),
    DynoField("compression", "Displacement or velocity in compression is", choices=SIGNS),
    DynoField("compression force", "Force in compression is", choices=SIGNS),
    DynoField("sample rate", "Samples a second", "300"),
    DynoField("mid-stroke", "Displacement at mid-stroke, as in the file", "0 mm"),
    DynoField("plot", "A table of velocity and force holds", choices=("peaks", "continuous")),
    DynoField("warm-up", "Cycles dropped at every speed", "5"),
    DynoField("gas force", "Taken off as gas", "120 N"),
    DynoField("friction", "Taken off as friction", "15 N"),
)


def wishes_of(form: Mapping[str, str], adjusters: Sequence[Adjuster]) -> dict[str, str]:
    """What is said in a form, by field; what is empty is left out."""
    names = (*(one.name for one in FIELDS), *(f"click {one.name}" for one in adjusters), "columns", "machine")
    return {name: text for name in names if (text := form.get(name, "").strip())}


def settled_of(form: Mapping[str, str]) -> Settled:
    """What is settled instead of derived.

    Raises
    ------
    InputError
        Naming the field.
    """
    plot = _choice(form, "plot")
    return Settled(
        sample_rate=_number(form, "sample rate", *SAMPLE_RATES),
        force_sign=_sign(form, "compression force"),
        travel_sign=_sign(form, "compression"),
        mid_stroke=length_typed(_text(form, "mid-stroke"), option="mid-stroke"),
        continuous=None if plot is None else plot == "continuous",
        warm_up=_cycles(form),
        gas_force=force_typed(_text(form, "gas force"), option="gas force"),
        friction_force=force_typed(_text(form, "friction"), option="friction"),
    )


def said_of(form: Mapping[str, str], adjusters: Sequence[Adjuster]) -> SaidOfFiles:
    """What is said of columns and of every run.

    Raises
    ------
    InputError
        Naming the field.
    """
    clicks = {}
    for one in adjusters:
        typed = _text(form, f"click {one.name}")
        if typed is not None:
            clicks[one.name] = int(_whole(typed, one.name, one.most))
    lines = form.get("columns", "")[:LONGEST_COLUMNS].splitlines()
    return SaidOfFiles(
        columns=tuple(column_of(line, option="columns") for line in lines if line.strip()),
        machine=_text(form, "machine"),
        facts=Facts(
            clicks=clicks,
            temperature=temperature_typed(_text(form, "temperature"), option="temperature"),
            gas_pressure=pressure_typed(_text(form, "gas pressure"), option="gas pressure"),
            stroke=length_typed(_text(form, "stroke"), option="stroke"),
        ),
    )


def _text(form: Mapping[str, str], field: str) -> str | None:
    text = form.get(field, "").strip()
    if len(text) > LONGEST:
        raise InputError(f"{field}: got {len(text)} letters, expected at most {LONGEST}.")
    return text or None


def _choice(form: Mapping[str, str], field: str) -> str | None:
    text = _text(form, field)
    choices = next(one.choices for one in FIELDS if one.name == field)
    if text is not None and text not in choices:
        raise InputError(f"{field}: got {text!r}, expected {' or '.join(choices)}.")
    return text


def _sign(form: Mapping[str, str], field: Literal["compression", "compression force"]) -> float | None:
    text = _choice(form, field)
    return None if text is None else 1.0 if text == "positive" else -1.0


def _number(form: Mapping[str, str], field: str, least: float, most: float) -> float | None:
    text = _text(form, field)
    if text is None:
        return None
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        number = float("nan")
    if not least <= number <= most:
        raise InputError(f"{field}: got {text!r}, expected a number from {least:g} to {most:g}.")
    return number


def _cycles(form: Mapping[str, str]) -> int | None:
    text = _text(form, "warm-up")
    return None if text is None else int(_whole(text, "warm-up", MOST_CYCLES))


def _whole(text: str, field: str, most: int) -> int:
    if not (text.isascii() and text.isdecimal() and int(text) <= most):
        raise InputError(f"{field}: got {text!r}, expected a whole number up to {most}.")
    return int(text)
