"""What other parts do, as other programs read it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from damping_model.flow.oil import Oil
from damping_model.units import BAR, CENTISTOKES, MILLIMETRE, celsius
from optimiser.documents.common import ChangesDocument, Document, ShimDocument
from optimiser.documents.shims import changes_document, shim_document
from optimiser.files.part_in_file import filed
from optimiser.jobs.part_ladder import PartLadder, PartStep
from optimiser.jobs.planned import Planned
from optimiser.model.band_result import BandResult
from optimiser.model.damper_description import DamperDescription
from optimiser.model.goal import Window
from optimiser.model.other_parts import PartChange, PartKind, with_parts


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
    file_before: dict[str, str | int | dict[str, float]] | float | None = None
    """What the damper's file says now: an oil by its keys, gas in bar, a hole in mm; null for a ring."""
    file_after: dict[str, str | int | dict[str, float]] | float | None = None
    """What it is to say with this part."""
    stack_before: list[ShimDocument] | None = None
    """Of a ring: the stack that it lies in, from the piston outwards."""
    stack_after: list[ShimDocument] | None = None
    """The same with the other ring, and no shim changed."""


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
    """Over all stacks that change."""
    opens: list[str] = Field(default_factory=list)
    """Where several stacks may change, those that do."""
    adjusters: dict[str, int]
    in_range: bool
    chance_percent: float | None = None
    """Of a step in range: share of the dampers built like this in which all limits hold."""
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
        chosen=[_part_with_file(one, planned.as_it_is) for one in planned.part_changes],
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


def _part_with_file(one: PartChange, damper: DamperDescription) -> PartDocument:
    """The same with what is to be written about it."""
    if one.kind is not PartKind.RING:
        before, after = damper.filed[one.kind.value, one.name], filed(one.kind, one.to)
        document = _part(one).model_dump() | {"file_before": before, "file_after": after}
        return PartDocument.model_validate(document)
    old = damper.stack_named(one.name, where="").stack
    new = with_parts(damper, (one,)).stack_named(one.name, where="").stack
    return _part(one).model_copy(
        update={
            "stack_before": [shim_document(shim) for shim in old.shims],
            "stack_after": [shim_document(shim) for shim in new.shims],
        }
    )


def _step(step: PartStep) -> PartStepDocument:
    return PartStepDocument(
        parts=[_part(one) for one in step.changes],
        minutes=round(step.time / 60, 2),
        number_of_changes=step.best.number_of_changes,
        changes=changes_document(step.best.all_changes),
        opens=list(step.best.opened(step.best.place)) if step.best.place else [],
        adjusters=dict(step.settings[step.best.setting]),
        in_range=step.in_range,
        chance_percent=None if step.chance is None else round(100 * step.chance, 1),
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
