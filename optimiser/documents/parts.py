"""What other parts do, as other programs read it."""

from __future__ import annotations

from typing import Literal

from damping_model.flow.oil import Oil
from damping_model.units import BAR, CENTISTOKES, MILLIMETRE, celsius
from optimiser.documents.common import ChangesDocument, Document
from optimiser.documents.shims import changes_document
from optimiser.jobs.part_ladder import PartLadder, PartStep
from optimiser.jobs.planned import Planned
from optimiser.model.band_result import BandResult
from optimiser.model.goal import Window
from optimiser.model.other_parts import PartChange, PartKind


class PartDocument(Document):
    """One part that becomes another one; of the values those of its kind are given, the others null."""

    kind: Literal["oil", "gas pressure", "bleed", "preload ring"]
    name: str
    """Of the bleed, or of the stack that the ring lies in; empty for oil and gas."""
    oil: str | None = None
    viscosity_mm2_s: dict[str, float] | None = None
    """By temperature in °C."""
    gas_bar: float | None = None
    size_mm: float | None = None
    """Diameter of the bleed's hole, or thickness of the ring."""


class PartBandDocument(Document):
    """What a combination does to one band."""

    name: str
    average_percent: float
    verdict: Literal["in range", "at the edge", "out of range"]


class PartStepDocument(Document):
    """One combination of parts, with the clicks and shims that go with it."""

    parts: list[PartDocument]
    minutes: float
    number_of_changes: int
    changes: ChangesDocument
    adjusters: dict[str, int]
    in_range: bool
    bands: list[PartBandDocument]


class LeftOutPartsDocument(Document):
    """A combination that was not looked into."""

    parts: list[PartDocument]
    why: str


class PartsDocument(Document):
    """What the parts under [[at_hand]] do."""

    chosen: list[PartDocument]
    """Those that the candidates of the plan are built with; empty where the damper keeps its own."""
    proven: bool
    """Whether nothing that takes less time than the first in range is in range; or, where none is, that."""
    steps: list[PartStepDocument]
    """The least work first."""
    left_out: list[LeftOutPartsDocument]
    not_reached: int = 0
    """Combinations that the time did not suffice for."""


def parts_document(planned: Planned) -> PartsDocument | None:
    """The document of other parts; None where the job names none at hand."""
    ladder: PartLadder | None = planned.parts
    if ladder is None:
        return None
    return PartsDocument(
        chosen=[_part(one) for one in planned.part_changes],
        proven=ladder.proven,
        steps=[_step(one) for one in ladder.steps],
        left_out=[
            LeftOutPartsDocument(parts=[_part(one) for one in changes], why=why)
            for changes, why in ladder.left_out
        ],
        not_reached=ladder.not_reached,
    )


def _part(one: PartChange) -> PartDocument:
    if isinstance(one.to, Oil):
        points = {
            f"{celsius(kelvin=kelvin):g}": round(nu / CENTISTOKES, 4)
            for kelvin, nu in one.to.viscosity_points
        }
        return PartDocument(kind="oil", name="", oil=one.to.name, viscosity_mm2_s=points)
    if one.kind is PartKind.GAS:
        return PartDocument(kind="gas pressure", name="", gas_bar=round(one.to / BAR, 4))
    return PartDocument.model_validate(
        {"kind": one.kind.value, "name": one.name, "size_mm": round(one.to / MILLIMETRE, 4)}
    )


def _step(step: PartStep) -> PartStepDocument:
    return PartStepDocument(
        parts=[_part(one) for one in step.changes],
        minutes=round(step.time / 60, 2),
        number_of_changes=len(step.best.changes),
        changes=changes_document(step.best.changes),
        adjusters=dict(step.settings[step.best.setting]),
        in_range=step.in_range,
        bands=[_band(window, result) for window, result in step.bands],
    )


def _band(window: Window, result: BandResult) -> PartBandDocument:
    return PartBandDocument.model_validate(
        {
            "name": window.name,
            "average_percent": round(100 * result.mean, 3),
            "verdict": result.verdict.value,
        }
    )
