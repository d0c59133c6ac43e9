"""How sure a candidate or a step of effort is, for other programs."""

from __future__ import annotations

from optimiser.documents.common import Document
from optimiser.jobs.confidence import Confidence
from optimiser.spread.spread import BandSpread, LeastSure, Spread


class LeastSureDocument(Document):
    """The place in a band where its change is far less sure than elsewhere; percent of the force before."""

    at_m_s: float
    low_percent: float
    high_percent: float
    surest_m_s: float
    surest_low_percent: float
    surest_high_percent: float


class BandSpreadDocument(Document):
    """How surely one band does what is asked."""

    name: str
    average_low_percent: float
    """Of the average change: 19 in 20 of the drawn dampers lie between this and the next."""
    average_high_percent: float
    kept_share: float
    """Share of the drawn dampers in which its limits hold."""
    missed_by_percent: float
    """Of the force before, where they do not: half of those miss by no more; 0 where they always hold."""
    least_sure: LeastSureDocument | None


class CarrierDocument(Document):
    """What carries a part of the spread."""

    what: str
    share_percent: float
    """Of the variance of the average change of the band that is named."""


class SureDocument(Document):
    """What dampers built like this would do, drawn at random."""

    chance: float
    """Share of them in which all limits hold at once."""
    drawn: int
    """How many."""
    bands: list[BandSpreadDocument]
    most_missed: str | None
    """The band that fails most; null where none ever does."""
    unsure_band: str
    """The band that the carriers are said of."""
    carriers: list[CarrierDocument]
    """Most first; those with little are left out."""


class ConfidenceDocument(Document):
    """What became of the wish that all limits hold in so many dampers built like this."""

    asked: float
    """Share of them."""
    reached: bool
    """Whether the first candidate has it, on draws that it was not chosen by."""
    number_of_changes: int | None
    """The fewest that have it, on the draws that stacks are chosen by; null where none was found."""
    proven: bool
    """Whether fewer changes, or where none was found any, are proven not to, on those draws."""
    unsure: int
    """Stacks and settings met on the way that meet the goal and lack the chance."""


def confidence_document(one: Confidence | None) -> ConfidenceDocument | None:
    """The document of the wish; None where it was not said."""
    if one is None:
        return None
    return ConfidenceDocument(
        asked=one.level,
        reached=one.reached,
        number_of_changes=one.changes,
        proven=one.proven,
        unsure=one.unsure,
    )


def sure_document(spread: Spread | None) -> SureDocument | None:
    """The document of a spread; None where it is not known."""
    if spread is None:
        return None
    return SureDocument(
        chance=round(spread.chance, 4),
        drawn=spread.draws,
        bands=[_band(band) for band in spread.bands],
        most_missed=None if spread.most_missed is None else spread.most_missed.name,
        unsure_band=spread.carried,
        carriers=[
            CarrierDocument(
                what="the model itself" if one.unknown is None else one.unknown.words,
                share_percent=_percent(one.share),
            )
            for one in spread.carriers
        ],
    )


def _band(band: BandSpread) -> BandSpreadDocument:
    return BandSpreadDocument(
        name=band.name,
        average_low_percent=_percent(band.low),
        average_high_percent=_percent(band.high),
        kept_share=round(band.kept, 4),
        missed_by_percent=_percent(band.missed_by),
        least_sure=None if band.least_sure is None else _least_sure(band.least_sure),
    )


def _least_sure(place: LeastSure) -> LeastSureDocument:
    low, high = place.at_surest
    return LeastSureDocument(
        at_m_s=round(place.speed, 6),
        low_percent=_percent(place.low),
        high_percent=_percent(place.high),
        surest_m_s=round(place.surest, 6),
        surest_low_percent=_percent(low),
        surest_high_percent=_percent(high),
    )


def _percent(share: float) -> float:
    return round(100 * share, 3)
