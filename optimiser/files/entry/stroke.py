"""A new damper's stroke and the machine that it is for, which says how far a wheel moves the shaft."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from damping_model.units import MILLIMETRE
from optimiser.files.bike_file import BikeFile
from optimiser.files.entry.form_file import Form
from optimiser.intake.machine import STROKE_FITS

STROKE: Final = "stroke"
"""The figure of a damper that its machine knows, too."""

ENDS: Final = {"fork": "front", "shock": "rear"}
"""Where a damper of a sort is looked for first."""


def for_machine(form: Form, machine: BikeFile | None) -> Form:
    """The kind of damper with the shaft travel of its machine as its usual stroke, where that is known."""
    travel = _shaft_travel(form, machine)
    if travel is None:
        return form
    figures = tuple(
        one.model_copy(update={"usual": travel, "off_percent": 100 * STROKE_FITS})
        if one.key == STROKE
        else one
        for one in form.figures
    )
    return replace(form, figures=figures)


def other_stroke(form: Form, machine: BikeFile | None, *, stroke: float) -> str:
    """What to say of a stroke [mm] that is not the machine's shaft travel; nothing where it is."""
    travel = _shaft_travel(form, machine)
    if machine is None or travel is None or abs(travel / stroke - 1) <= STROKE_FITS:
        return ""
    end = ENDS[form.file["fits"]]
    return f"Mind: the {end} wheel of {machine.name} moves its shaft by {travel:g} mm, not {stroke:g} mm."


def _shaft_travel(form: Form, machine: BikeFile | None) -> float | None:
    """How far the machine's wheel at the damper's end moves the shaft, where only one does. [mm]"""
    end = ENDS.get(form.file.get("fits", ""))
    corners = [] if machine is None else [one.corner() for one in machine.corner if one.end == end]
    return round(corners[0].leverage.shaft_travel_end / MILLIMETRE, 1) if len(corners) == 1 else None
