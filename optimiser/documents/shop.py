"""What ``shimwright shop --json`` writes: the keys that other programs may rely on.

Keys are only ever added; ``format`` changes its number when one has to change its meaning.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, Literal

from pydantic import Field

from damping_model.units import MILLIMETRE
from optimiser.documents.common import (
    ChangesDocument,
    CountedShim,
    Document,
    EffortDocument,
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
from optimiser.files.catalogue import Offer
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Answer
from optimiser.model.stock import ShimKey
from optimiser.studies.purchases import Looked, Purchase, Shopping

FORMAT: Final = "shimwright shop 2"


class PiecesDocument(CountedShim):
    """A type to buy; ``count`` is how many pieces the stack needs beyond what is at hand."""

    packs: int
    """Packs that have to be bought for them."""
    cost: float | None
    """Of those packs, in the catalogue's currency; null when the price is not known."""
    label: str
    """The catalogue's own words."""


class PurchaseDocument(Document):
    """What to buy, and the best stack it is good for."""

    rank: int
    buy: list[PiecesDocument]
    cost: float | None
    """Of all packs together; null when one price is not known."""
    number_of_changes: int
    changes_saved: int | None
    """Against the fewest found with the shelf alone; null when the shelf alone gave nothing."""
    changes: ChangesDocument
    stack: list[ShimDocument]
    """From the piston outwards."""
    height_mm: float
    miss_percent: float
    change_elsewhere_percent: float
    others: list[OtherStackDocument] = Field(default_factory=list)
    """Other stacks that it changes; changes are those of all of them together."""


class LookedDocument(Document):
    """All purchases of one number of types."""

    types: int
    most_changes: int
    """Changes up to which such a purchase would have been worth it."""
    proven_too_few: int
    """Proven: no such purchase meets the goal with at most this many changes."""
    status: Literal["proven", "best so far", "not all answered", "interrupted"]
    purchases: int
    """How many of those that are listed are of this kind."""
    effort: EffortDocument


class ShelfDocument(Document):
    """What the shelf alone can do."""

    status: Literal["proven least", "best so far", "not all answered", "proven impossible", "interrupted"]
    number_of_changes: int | None
    """Fewest found; null when none was."""
    proven_too_few: int
    most_changes: int


class ShopDocument(Document):
    """The whole answer."""

    format: Literal["shimwright shop 2"] = FORMAT
    job: str
    damper: str
    stack_name: str
    open_stacks: list[str] = Field(default_factory=list)
    """All stacks that may change; where they are several, stacks are given for stack_name."""
    types_sold: int
    """Types in the catalogue that fit this shaft, or one of them."""
    outcome: Literal["nothing needed", "buy", "no purchase helps", "nothing found"]
    status: Literal["proven", "best so far", "not all answered", "interrupted"]
    said: str
    """The answer in a sentence."""
    shelf_alone: ShelfDocument
    left_out: LeftOutDocument
    unanswered: UnansweredDocument
    """Nothing that rests on them is called proven."""
    looked: list[LookedDocument]
    purchases: list[PurchaseDocument]
    """Fewest types first, then fewest changes, then closest to the target."""


def shop_document(
    setup: JobSetup,
    found: Shopping,
    *,
    offers: Mapping[ShimKey, Offer],
    said: str,
    open_stacks: Sequence[str] = (),
) -> ShopDocument:
    """The document of a job's purchases.

    Parameters
    ----------
    setup : the job.
    found : its purchases.
    offers : the catalogue's types that fit.
    said : the answer in a sentence.
    open_stacks : names of all stacks that may change, where they are several.
    """
    return ShopDocument.model_validate(
        {
            "job": setup.job.title,
            "damper": setup.job.damper.name,
            "stack_name": setup.mounted.name,
            "open_stacks": list(open_stacks) or [setup.mounted.name],
            "types_sold": len(offers),
            "outcome": found.outcome,
            "status": found.trust.value,
            "said": said,
            "shelf_alone": {
                "status": found.shelf.status.value,
                "number_of_changes": fewest(found.shelf),
                "proven_too_few": found.shelf.proven_too_few,
                "most_changes": found.shelf.most_changes,
            },
            "left_out": left_out_document(found.left_out),
            "unanswered": unanswered_document(found.unanswered, setup.physics.settings),
            "looked": [_looked(looked) for looked in found.looked],
            "purchases": [
                _purchase(one, rank, offers, fewest(found.shelf))
                for rank, one in enumerate(found.purchases, 1)
            ],
        }
    )


def fewest(shelf: Answer) -> int | None:
    """The fewest changes found with the shelf alone; None when it gave nothing."""
    return shelf.candidates[0].number_of_changes if shelf.candidates else None


def cost_of(one: Purchase, offers: Mapping[ShimKey, Offer]) -> float | None:
    """What the packs of a purchase cost; None when one price is not known."""
    costs = [offers[key].cost(pieces) for key, pieces in one.pieces]
    known = [cost for cost in costs if cost is not None]
    return sum(known) if len(known) == len(costs) else None


def _looked(looked: Looked) -> dict[str, object]:
    return {
        "types": looked.types,
        "most_changes": looked.most_changes,
        "proven_too_few": looked.proven_too_few,
        "status": looked.trust.value,
        "purchases": len(looked.purchases),
        "effort": EffortDocument(
            physics_runs=looked.effort.evaluations,
            families=looked.effort.families,
            stacks_checked=looked.effort.stacks,
        ),
    }


def _purchase(
    one: Purchase, rank: int, offers: Mapping[ShimKey, Offer], alone: int | None
) -> PurchaseDocument:
    best = one.best
    return PurchaseDocument(
        rank=rank,
        buy=[_pieces(offers[key], pieces) for key, pieces in one.pieces],
        cost=_money(cost_of(one, offers)),
        number_of_changes=best.number_of_changes,
        changes_saved=None if alone is None else alone - best.number_of_changes,
        changes=changes_document(best.all_changes),
        stack=[shim_document(shim) for shim in best.stack.shims],
        height_mm=round(best.stack.height / MILLIMETRE, 4),
        miss_percent=round(100 * best.target_error, 3),
        change_elsewhere_percent=round(100 * best.change_elsewhere, 3),
        others=other_stacks(best),
    )


def _pieces(offer: Offer, pieces: int) -> PiecesDocument:
    return PiecesDocument(
        outer_diameter_mm=offer.key.outer / 1000,
        thickness_mm=offer.key.thickness / 1000,
        inner_diameter_mm=offer.key.inner / 1000,
        count=pieces,
        packs=offer.packs(pieces),
        cost=_money(offer.cost(pieces)),
        label=offer.label,
    )


def _money(cost: float | None) -> float | None:
    return None if cost is None else round(cost, 2)
