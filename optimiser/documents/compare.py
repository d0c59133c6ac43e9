"""What ``shimwright compare --json`` writes: dampers laid over one another, and what each shim does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

from damping_model.stack.stack import Stack
from damping_model.units import MILLIMETRE, celsius
from optimiser.documents.common import CountedShim, Document, ShimDocument
from optimiser.documents.shims import counted_shims, shim_document
from optimiser.jobs.what_if import Compared, Comparison
from optimiser.model.band_result import BandResult
from optimiser.model.goal import Role, Window
from optimiser.studies.each_shim import ShimTried, Tried

FORMAT: Final = "shimwright compare 1"


class ComparedBandDocument(Document):
    """One band of one case; lists run over its velocities."""

    name: str
    role: Literal["target", "hold", "familiarity", "shown"]
    stroke: Literal["compression", "rebound"]
    velocities_m_s: list[float]
    force_n: list[float]
    """Damping force at the shaft, against the motion."""
    average_force_n: float
    """Average force over the logarithm of velocity."""
    change_n: float
    """Of the average force, from the first case."""
    average_percent: float
    """Average change from the first case over the logarithm of velocity."""
    least_percent: float
    """Smallest change at any of its velocities, with sign; likewise the next the largest."""
    most_percent: float
    in_range: bool | None
    """Whether what the job allows is kept; null where nothing is asked."""


class CaseDocument(Document):
    """One damper as it is or might be."""

    label: str
    damper: str
    stack: list[ShimDocument] | None
    """The stack that is looked at, from the piston outwards; null where the damper has none of that name."""
    height_mm: float | None
    clicks_out: dict[str, int]
    oil: str
    oil_temperature_c: float
    cannot_be_built: list[str]
    """Rules of building that a typed stack breaks, in words."""
    mind: list[str]
    """What else to know, in words: of the first case what its figures rest on, of others what speaks against
    them in a job: shims that the shelf lacks, oil that boils, stress."""
    bands: list[ComparedBandDocument]


class TriedDocument(Document):
    """The stack with one shim less or more."""

    cannot_be_built: list[str]
    """Why, in words; the bands are then empty."""
    mind: Literal["oil would boil", "a shim would be overstressed"] | None = None
    """What speaks against it all the same; only asked of a job's damper."""
    bands: list[ComparedBandDocument]


class EachShimDocument(Document):
    """Neighbours that are alike."""

    first_place: int
    """1 for the face shim; likewise the next."""
    last_place: int
    shim: CountedShim
    """How many of them lie there."""
    out: TriedDocument
    one_more: TriedDocument


class CompareDocument(Document):
    """The whole answer."""

    format: Literal["shimwright compare 1"] = FORMAT
    title: str
    stack_name: str | None
    cases: list[CaseDocument]
    """The first is what the others are measured against."""
    each_shim: list[EachShimDocument]
    """From the piston outwards; empty unless --each-shim asks for it."""
    page: str
    """Path of the page that was written."""


def compare_document(
    found: Comparison,
    *,
    title: str,
    faults: Sequence[Sequence[str]],
    minds: Sequence[Sequence[str]],
    shims: Sequence[ShimTried],
    page: str,
) -> CompareDocument:
    """The document of a comparison.

    Parameters
    ----------
    found : the dampers.
    title : what is compared.
    faults : of each of them, the rules of building that its stack breaks.
    minds : of each of them, what else speaks against it.
    shims : what each shim does; empty when that was not looked at.
    page : path of the page that was written.
    """
    return CompareDocument(
        title=title,
        stack_name=found.cases[0].what.stack_name,
        cases=[
            _case(found, case, list(broken), list(mind))
            for case, broken, mind in zip(found.cases, faults, minds, strict=True)
        ],
        each_shim=[_each(found, one) for one in shims],
        page=page,
    )


def _case(found: Comparison, case: Compared, broken: list[str], mind: list[str]) -> CaseDocument:
    stack: Stack | None = case.what.stack
    return CaseDocument(
        label=case.what.label,
        damper=case.what.damper.name,
        stack=None if stack is None else [shim_document(shim) for shim in stack.shims],
        height_mm=None if stack is None else round(stack.height / MILLIMETRE, 4),
        clicks_out=dict(case.curve.clicks),
        oil=case.what.damper.oil.name,
        oil_temperature_c=round(celsius(kelvin=case.curve.temperature), 3),
        cannot_be_built=broken,
        mind=mind,
        bands=[
            _band(window, case.forces[part], result)
            for (window, part), result in zip(found.goal.parts, case.bands, strict=True)
        ],
    )


def _band(window: Window, forces: Sequence[float], result: BandResult) -> ComparedBandDocument:
    asked = window.role is not Role.SHOWN
    return ComparedBandDocument.model_validate(
        {
            "name": window.name,
            "role": window.role.value,
            "stroke": "compression" if window.velocities[0] > 0 else "rebound",
            "velocities_m_s": [round(abs(velocity), 6) for velocity in window.velocities],
            "force_n": [round(force, 3) for force in forces],
            "average_force_n": round(result.after, 3),
            "change_n": round(result.after - result.before, 3),
            "average_percent": round(100 * result.mean, 3),
            "least_percent": round(100 * result.least, 3),
            "most_percent": round(100 * result.most, 3),
            "in_range": result.missed_by == 0 if asked else None,
        }
    )


def _each(found: Comparison, one: ShimTried) -> EachShimDocument:
    return EachShimDocument(
        first_place=one.places[0] + 1,
        last_place=one.places[-1] + 1,
        shim=counted_shims([one.key] * len(one.places))[0],
        out=_tried(found, one.out),
        one_more=_tried(found, one.one_more),
    )


def _tried(found: Comparison, tried: Tried) -> TriedDocument:
    bands = [
        _band(window, tried.forces[part], result)
        for (window, part), result in zip(found.goal.parts, tried.bands, strict=False)
    ]
    return TriedDocument.model_validate(
        {
            "cannot_be_built": list(tried.why_not),
            "mind": None if tried.mind is None else tried.mind.value,
            "bands": bands,
        }
    )
