"""What ``shimwright reach --json`` writes: the keys that other programs may rely on.

Keys are only ever added; ``format`` changes its number when one has to change its meaning.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from pydantic import Field

from damping_model.units import MILLIMETRE
from optimiser.documents.common import (
    ChangesDocument,
    Document,
    EffortDocument,
    FindingDocument,
    LeftOutDocument,
    OtherStackDocument,
    ShimDocument,
    UnansweredDocument,
)
from optimiser.documents.shims import (
    changes_document,
    left_out_document,
    other_stacks,
    shim_document,
    unanswered_document,
)
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Status
from optimiser.model.band_result import mean_before
from optimiser.studies.reach import BandReach, End, Reach

FORMAT: Final = "shimwright reach 2"


class EndDocument(Document):
    """The stack, or the clicks, that move a band furthest to one side."""

    shift_percent: float
    """Mean over the band of the change of its damping force, of the force before."""
    proven: bool
    """Whether nothing that was allowed goes further."""
    number_of_changes: int
    changes: ChangesDocument
    stack: list[ShimDocument]
    """From the piston outwards."""
    height_mm: float
    adjusters: dict[str, int]
    """Clicks out from closed, by adjuster."""
    change_elsewhere_percent: float
    """Largest change over the held bands."""
    others: list[OtherStackDocument] = Field(default_factory=list)
    """Other stacks that it changes; changes are those of all of them together."""


class ExtentDocument(Document):
    """How far a band goes with at most so many changes."""

    changes: int
    """Of shims; 0 is clicks alone."""
    least: EndDocument
    most: EndDocument


class BandReachDocument(Document):
    """One band of the job."""

    name: str
    stroke: Literal["compression", "rebound"]
    velocities_m_s: list[float]
    """Shaft velocities, positive in both strokes."""
    before_n: list[float]
    """Damping force at the shaft with the damper as it is."""
    average_before_n: float
    """Its mean over the logarithm of velocity."""
    tolerance_percent: float
    """What the band is held to while another is moved."""
    wanted_percent: float | None
    """Average shift that the job asks for; null for a held band."""
    extents: list[ExtentDocument]


class StackReachDocument(Document):
    """One of several open stacks alone."""

    stack_name: str
    status: Literal["proven", "best so far", "not all answered", "interrupted"]
    bands: list[BandReachDocument]


class ReachDocument(Document):
    """The whole answer."""

    format: Literal["shimwright reach 2"] = FORMAT
    job: str
    damper: str
    stack_name: str
    """The stack that ends are given for; what they do in others is in their others."""
    open_stacks: list[str] = Field(default_factory=list)
    """All stacks that may change."""
    status: Literal["proven", "best so far", "not all answered", "interrupted"]
    """Whether every end is proven; if not, each end says whether it is."""
    findings: list[FindingDocument]
    bands: list[BandReachDocument]
    left_out: LeftOutDocument
    unanswered: UnansweredDocument
    """Nothing that rests on them is called proven."""
    effort: EffortDocument
    picture: str | None
    """Path of the picture that was written."""
    each: list[StackReachDocument] = Field(default_factory=list)
    """Where several stacks are open, each alone, all others as they are."""


def reach_document(
    setup: JobSetup,
    found: Reach,
    *,
    picture: str | None,
    each: Mapping[str, tuple[JobSetup, Reach]] | None = None,
) -> ReachDocument:
    """The document of a job's reach.

    Parameters
    ----------
    setup : the job.
    found : its reach.
    picture : path of the picture that was written.
    each : every stack alone where all are open, by name.
    """
    each = each or {}
    return ReachDocument.model_validate(
        {
            "job": setup.job.title,
            "damper": setup.job.damper.name,
            "stack_name": setup.mounted.name,
            "open_stacks": list(each) or [setup.mounted.name],
            "status": _status(found),
            "findings": [
                FindingDocument(what=f.what, got=f.got, expected=f.expected, do_this=f.do_this, why=f.why)
                for f in setup.gate.findings
            ],
            "bands": [_band(setup, band) for band in found.bands],
            "left_out": left_out_document(found.left_out),
            "unanswered": unanswered_document(found.unanswered, setup.physics.settings),
            "effort": EffortDocument(
                physics_runs=found.effort.evaluations,
                families=found.effort.families,
                stacks_checked=found.effort.stacks,
            ),
            "picture": picture,
            "each": [
                {
                    "stack_name": name,
                    "status": _status(alone),
                    "bands": [_band(own, band) for band in alone.bands],
                }
                for name, (own, alone) in each.items()
            ],
        }
    )


def _status(found: Reach) -> str:
    return "proven" if found.proven else (found.stopped or Status.UNANSWERED).value


def _band(setup: JobSetup, band: BandReach) -> BandReachDocument:
    window = band.window
    return BandReachDocument(
        name=window.name,
        stroke="compression" if window.velocities[0] > 0 else "rebound",
        velocities_m_s=[round(abs(velocity), 6) for velocity in window.velocities],
        before_n=[round(force, 3) for force in window.before],
        average_before_n=round(mean_before(window), 3),
        tolerance_percent=round(100 * band.tolerance, 3),
        wanted_percent=None if band.wanted is None else round(100 * band.wanted, 3),
        extents=[
            ExtentDocument(
                changes=extent.changes, least=_end(setup, extent.least), most=_end(setup, extent.most)
            )
            for extent in band.extents
        ],
    )


def _end(setup: JobSetup, end: End) -> EndDocument:
    candidate = end.candidate
    return EndDocument(
        shift_percent=round(100 * end.shift, 3) + 0.0,
        proven=end.proven,
        number_of_changes=candidate.number_of_changes,
        changes=changes_document(candidate.all_changes),
        stack=[shim_document(shim) for shim in candidate.stack.shims],
        height_mm=round(candidate.stack.height / MILLIMETRE, 4),
        adjusters=dict(setup.physics.settings[candidate.setting]),
        change_elsewhere_percent=round(100 * candidate.change_elsewhere, 3),
        others=other_stacks(candidate),
    )
