"""How sure a plan is, in the trade's words: intervals, the chance that all limits hold, what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.table import Table

from damping_model.stack.stack import Stack
from optimiser.model.goal import Role
from optimiser.model.percent import TRUE_MINUS, points_text, share_text
from optimiser.report.ladder_text import LadderView, effort_words
from optimiser.report.unit_system import UnitSystem
from optimiser.spread.spread import BandSpread, Carrier, Spread
from optimiser.unknowns.damper_unknowns import FRICTION_BETWEEN_SHIMS
from optimiser.unknowns.unknown import Owner, Unknown

WHAT_DRAWN: Final = (
    "Each of those dampers has figures of its own: those not measured within what its file says, measured "
    "ones within what measuring leaves, shims within their strip's tolerance, oil some degrees off, and the "
    "model's own error."
)
"""What a damper built like this may be otherwise."""

RARE: Final = 0.005
"""A chance below this is not named. [-]"""

SURE_HEAD: Final = "How sure: what dampers built like this would do"


def chance_text(share: float) -> str:
    """A chance as people count: ``74 of 100``, and never 'all' or 'none' of what was only drawn."""
    if share > 1 - RARE:
        return "over 99 of 100"
    if share < RARE:
        return "under 1 of 100"
    return f"{100 * share:.0f} of 100"


def interval_text(band: BandSpread) -> str:
    """The average change that 19 in 20 have: ``+20.2 to +26.4 %``."""
    return _between(band.low, band.high)


def _between(low: float, high: float) -> str:
    first, last = (f"{100 * one:+.1f}".replace("-", TRUE_MINUS) for one in (low, high))
    if first[1:] == last[1:] == "0.0":
        return "0 %"
    return f"{first} to {last} %"


def sure_table(view: LadderView) -> Table | None:
    """What each step of effort does in dampers built like this, a line each; None where it is not known."""
    if not any(view.sure):
        return None
    letters = view.letters
    table = Table(title=SURE_HEAD, box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Effort", no_wrap=True)
    table.add_column("On target, 19 in 20", justify="right", no_wrap=True)
    table.add_column("All limits hold", justify="right", no_wrap=True)
    table.add_column("Most often missed", ratio=1)
    for step, spread in zip(view.steps, view.sure, strict=True):
        if spread is not None:
            table.add_row(
                effort_words(step.rung.changes),
                "\n".join(on_target_intervals(view, spread)),
                chance_text(spread.chance),
                missed_text(spread, letters),
            )
    return table


def chances_of(view: LadderView) -> tuple[str, ...]:
    """For each step the chance that all limits hold; empty where it is not known of any."""
    if not any(view.sure):
        return ()
    return tuple("-" if spread is None else chance_text(spread.chance) for spread in view.sure)


def on_target_intervals(view: LadderView, spread: Spread) -> list[str]:
    """What 19 in 20 dampers do on each target: ``A +20.2 to +26.4 %``."""
    targets = {window.name for window in view.goal.windows if window.role is Role.TARGET}
    return [
        f"{view.letters[band.name]} {interval_text(band)}" for band in spread.bands if band.name in targets
    ]


def missed_text(spread: Spread, letters: Mapping[str, str]) -> str:
    """The band that fails most, how often, by how much: ``A, 26 of 100, by about 0.9 points``."""
    band = _often_missed(spread)
    if band is None:
        return "-"
    often = "always" if band.kept == 0 else chance_text(1 - band.kept)
    return f"{letters[band.name]}, {often}, by about {_points(band)}"


def _often_missed(spread: Spread) -> BandSpread | None:
    """The band that fails most; None where none does often enough to be named."""
    band = spread.most_missed
    return None if band is None or 1 - band.kept < RARE else band


def _points(band: BandSpread) -> str:
    return points_text(band.missed_by)


def sure_words(spread: Spread, stack: Stack, *, units: UnitSystem) -> Iterator[str]:
    """How sure one stack is, in sentences.

    Parameters
    ----------
    spread : of the stack.
    stack : that is built.
    units : what people read.
    """
    band, missed = _often_missed(spread), ""
    if band is not None:
        often = "always" if band.kept == 0 else f"in {chance_text(1 - band.kept)}"
        missed = f" Most often missed, {often}, is '{band.name}', by about {_points(band)}."
    yield f"Of dampers built like this, all limits hold in {chance_text(spread.chance)}.{missed}"
    if spread.carriers:
        named = "; ".join(carrier_words(one) for one in spread.carriers)
        yield f"What makes '{spread.carried}' unsure, most first: {named}."
    for one in spread.bands:
        if one.least_sure is not None:
            yield _least_sure_words(one, stack, units=units)


def carrier_words(one: Carrier) -> str:
    """A figure with its share, and what would make it better known."""
    share = share_text(one.share)
    if one.unknown is None:
        return f"the model itself ({share}; only a run on a dyno before and after tells)"
    remedy = remedy_for(one.unknown)
    return f"the {one.unknown.words} ({share}{f'; {remedy}' if remedy else ''})"


def remedy_for(unknown: Unknown) -> str:
    """What makes a figure better known, in a few words; empty where nothing does."""
    if unknown.owner in {Owner.SHIMS_INSIDE, Owner.SHIMS_OF_THE_SHELF}:
        return "put a micrometer on them"
    if unknown.owner is Owner.STEEL or unknown.figure == FRICTION_BETWEEN_SHIMS:
        return ""
    if unknown.figure == "temperature":
        return "plan at the temperature that it rides at"
    if unknown.figure in {"seat_height", "clamp_radius", "diameter", "swept_area"}:
        return "measure it"
    return "a run on a dyno tells"


def _least_sure_words(band: BandSpread, stack: Stack, *, units: UnitSystem) -> str:
    place = band.least_sure
    assert place is not None  # noqa: S101 - asked by the caller
    at, there = (units.velocity_text(one) for one in (place.speed, place.surest))
    unit, least, most = units.velocity_unit, _between(place.low, place.high), _between(*place.at_surest)
    why = ", where a stage of the stack comes in" if place.by_itself and comes_in_stages(stack) else ""
    return (
        f"Least sure of '{band.name}' is the change near {at} {unit}{why}: {least}, "
        f"against {most} at {there} {unit}."
    )


def comes_in_stages(stack: Stack) -> bool:
    """Whether a wider shim lies behind a smaller one, so that a part of the stack joins late."""
    return any(
        behind.outer_diameter > before.outer_diameter > behind.inner_diameter
        for before, behind in pairwise(stack.shims)
    )


def sure_note(spread: Spread, view: LadderView, *, surest: bool) -> str:
    """A candidate's line: ``all limits hold in 74 of 100, the surest of these; A +20.2 to +26.4 %``."""
    held = f"all limits hold in {chance_text(spread.chance)}{', the surest of these' if surest else ''}"
    return "; ".join([held, *on_target_intervals(view, spread)])


def change_note(spread: Spread, name: str) -> str:
    """A band's interval beside its change: ``19 in 20: +20.2 to +26.4 %``; empty where it has none."""
    found = next((band for band in spread.bands if band.name == name), None)
    return "" if found is None else f"19 in 20: {interval_text(found)}"
