"""What would do where nothing meets the goal, for people: words, and the line to type."""

from __future__ import annotations

import os.path
import shlex
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from optimiser.jobs.ladder import Judged
from optimiser.jobs.planned import Planned
from optimiser.jobs.variant import command_line
from optimiser.jobs.way_out import WayOut, loosened, typed
from optimiser.model.goal import Role
from optimiser.model.percent import TRUE_MINUS
from optimiser.report.candidates import changes_text
from optimiser.report.ladder_text import miss_words
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.loosenable import Kind
from optimiser.studies.loosenings import Loosening

MOST_SHOWN: Final = 6
"""Loosenings that are shown, those that ask for least."""

HEAD: Final = "What would do, one at a time:"

ORDINALS: Final = ("a first", "a second", "a third", "a fourth")
"""Changes by their number."""


def in_the_way_text(out: WayOut, *, units: UnitSystem) -> str | None:
    """What stands in the way, in a sentence; None where the nearest stack is not known."""
    if not out.in_the_way:
        return None
    return "In the way of the nearest: " + "; ".join(_missed(one, units) for one in out.in_the_way) + "."


def none_alone_text(out: WayOut) -> str | None:
    """That no band alone stands in the way, in a sentence; None where loosening one would do."""
    if out.loosenings:
        return None
    end = "" if out.all_tried else " Time was too short to rule it out."
    return f"No band that is loosened alone was found to do: more than one stands in the way.{end}"


def ways_out(planned: Planned) -> Iterator[tuple[str, str]]:
    """Words and the line to type, for everything that would do."""
    out = planned.way_out
    if out is None:
        return
    job, override = planned.job, planned.gate.override_reason
    for one in shown(out.loosenings):
        yield loosening_text(one), typed(job, loosened(job, one), override=override)
    changes = job.work.most_changes + 1
    if out.with_one_more is not None:
        found = f"{ORDINALS[changes - 1]} change, nothing loosened: {changes_text(out.with_one_more)}"
        yield found, typed(job, replace(job.variant, most_changes=changes), override=override)
    for say in out.more_say:
        words = (
            f"'{say.stack}' makes {100 * say.share:.0f} % of the force of '{say.band}', this stack "
            f"{100 * say.own_share:.0f} %: whether it can, this line says"
        )
        yield words, typed(job, replace(job.variant, stack=say.stack), override=override)
    catalogue = job.shelf.parent / "catalogue.csv"
    then = "" if catalogue.exists() else f" once {catalogue.name} beside the shelf lists what there is to buy"
    yield (
        f"whether one more shim to buy would do, this line says{then}",
        f"{command_line('shop', job.path)} --catalogue {shlex.quote(os.path.normpath(catalogue))}",
    )


def loosening_text(one: Loosening) -> str:
    """One loosening, in words."""
    effort = _changes(one.changes) if one.changes else "clicks alone"
    how = "the smallest there is" if one.proven else "the smallest found"
    shifts = one.kind is Kind.SHIFT
    sign = "+" if shifts and one.present > 0 else ""
    figures = f"{sign}{one.figure} % instead of {sign}{100 * one.present:.4g} %".replace("-", TRUE_MINUS)
    asked = f"ask '{one.name}' for" if shifts else f"allow '{one.name}'"
    return f"{asked} {figures}: {effort}, {how}"


def shown(loosenings: tuple[Loosening, ...]) -> list[Loosening]:
    """Those that ask for least, in the order of the effort that they take."""
    nearest = sorted(loosenings, key=lambda one: abs(one.value / one.present - 1))[:MOST_SHOWN]
    return [one for one in loosenings if one in nearest]


def _changes(number: int) -> str:
    return f"{number} change" if number == 1 else f"{number} changes"


def _missed(one: Judged, units: UnitSystem) -> str:
    window, result = one
    role = {Role.TARGET: "target", Role.HOLD: "held", Role.FAMILIARITY: "limit on the rest"}[window.role]
    return f"'{window.name}' ({role}) misses by {miss_words(result, units=units)}"
