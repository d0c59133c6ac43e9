"""What to buy, as a table for the terminal."""

from __future__ import annotations

from collections.abc import Mapping

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser.documents.shop import cost_of, fewest
from optimiser.files.catalogue import Offer
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Status
from optimiser.model.percent import share_text
from optimiser.model.stock import ShimKey
from optimiser.report.candidates import changes_text
from optimiser.report.findings_text import print_findings
from optimiser.report.in_units import in_units
from optimiser.report.left_out import meeting_left_out
from optimiser.report.unanswered import unanswered_words
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.purchases import Looked, Purchase, Shopping, Trust

NUMBERS = {1: "one type", 2: "two types"}


def print_shopping(
    console: Console,
    setup: JobSetup,
    found: Shopping,
    *,
    offers: Mapping[ShimKey, Offer],
    units: UnitSystem,
    several: bool = False,
) -> None:
    """Show what to buy.

    Parameters
    ----------
    console : where to.
    setup : the job.
    found : its purchases.
    offers : the catalogue's types that fit the shaft.
    units : what people read.
    several : whether all stacks of the damper are open.
    """
    console.print(Text(setup.job.title, style="bold"))
    where = "all stacks" if several else setup.mounted.name
    console.print(f"{setup.job.damper.name}, {where}")
    print_findings(console, setup.gate.findings, units=units)
    console.print()
    console.print(Text(said(found, sold=len(offers)), style="bold"))
    if not found.purchases and found.trust is Trust.BEST_SO_FAR:
        console.print("To look on to the end: --time-limit 0.")
    console.print(shelf_words(found))
    for looked in found.looked:
        console.print(in_units(looked_words(looked), units))
    if words := meeting_left_out(found.left_out):
        console.print(words)
    for words in unanswered_words(found.unanswered, settings=setup.physics.settings, old=setup.stack):
        console.print(words)
    if found.purchases:
        console.print()
        console.print(_table(found, offers))


def said(found: Shopping, *, sold: int) -> str:
    """The answer in a sentence.

    Parameters
    ----------
    found : purchases.
    sold : types of the catalogue that fit.
    """
    alone = fewest(found.shelf)
    if not found.needed:
        how = (
            "the adjusters alone reach the goal"
            if alone == 0
            else "one change from the shelf reaches the goal"
        )
        return f"Nothing has to be bought: {how}."
    if found.purchases:
        first = found.purchases[0]
        changes = changes_words(first.best.number_of_changes)
        gain = "makes the goal reachable" if alone is None else f"takes {changes} instead of {alone}"
        if found.shelf.status is Status.BEST_SO_FAR:
            gain = f"reaches the goal with {changes}"
        elif alone is None:
            gain += f", with {changes}"
        best = "" if found.looked[0].trust is Trust.PROVEN else " Best so far; nothing better is ruled out."
        return f"Buy {buy_words(first)}: it {gain}.{best}"
    types = found.looked[-1].types if found.looked else 1
    if found.trust is Trust.PROVEN:
        none = "no single type" if types == 1 else "no one or two types"
        worth = "makes the goal reachable" if alone is None else "saves a change"
        return f"Proven: {none} of the {sold} in the catalogue that fit {worth}."
    why = {
        Trust.INTERRUPTED: "before it was stopped",
        Trust.UNANSWERED: "among the stacks that the model has an answer for",
    }.get(found.trust, "in the time given")
    return f"No purchase was found {why}; that is no proof that there is none."


def shelf_words(found: Shopping) -> str:
    """What the shelf alone can do, in a sentence."""
    shelf, alone = found.shelf, fewest(found.shelf)
    if shelf.status is Status.PROVEN_IMPOSSIBLE:
        most = changes_words(shelf.most_changes)
        return f"The shelf alone: proven that no stack with at most {most} reaches the goal."
    too_few = max(shelf.proven_too_few, 0)
    bound = f"at most {changes_words(too_few)} proven too few" if too_few else "nothing more is proven"
    if alone is None:
        return f"The shelf alone: nothing found in its share of the time; {bound}."
    if shelf.status is Status.PROVEN_LEAST:
        fewest_words = "no change at all" if alone == 0 else f"{changes_words(alone)}, proven the fewest"
        return f"The shelf alone: {fewest_words}."
    return f"The shelf alone: {changes_words(alone)} found; {bound}."


def looked_words(looked: Looked) -> str:
    """What was looked for with one number of types, and how far it is proven."""
    kind = NUMBERS[looked.types]
    if looked.most_changes < looked.types:
        return f"Buying {kind}: cannot save a change more, since {kind} go in with two changes or more."
    if looked.purchases:
        count, changes = len(looked.purchases), changes_words(looked.purchases[0].best.number_of_changes)
        listed = f"{count} listed, with {changes}"
    elif looked.trust is Trust.PROVEN:
        listed = f"none with at most {changes_words(looked.most_changes)}"
    else:
        too_few = looked.proven_too_few
        listed = f"none found; at most {changes_words(too_few)} proven too few" if too_few else "none found"
    effort = f"{looked.effort.evaluations} runs of the model, {looked.effort.stacks} stacks covered"
    ended = not looked.purchases and looked.trust is Trust.BEST_SO_FAR  # there is no best of none
    return f"Buying {kind}: {listed}; {'the time ran out' if ended else looked.trust.value} ({effort})."


def buy_words(one: Purchase) -> str:
    """What to buy, in words: ``2 of 13x0.30 and 1 of 16x0.12``."""
    return " and ".join(f"{pieces} of {key}" for key, pieces in one.pieces)


def changes_words(changes: int) -> str:
    """A number of changes in words."""
    return "1 change" if changes == 1 else f"{changes} changes"


def _table(found: Shopping, offers: Mapping[ShimKey, Offer]) -> Table:
    table = Table(title="What to buy, best first", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("#", justify="right")
    table.add_column("Buy", no_wrap=True)
    table.add_column("Packs and cost")
    table.add_column("Changes", justify="right")
    table.add_column("Best stack", ratio=1)
    table.add_column("Miss", justify="right", no_wrap=True)
    table.add_column("Elsewhere", justify="right", no_wrap=True)
    for rank, one in enumerate(found.purchases, 1):
        table.add_row(
            str(rank),
            "\n".join(f"{pieces} of {key}" for key, pieces in one.pieces),
            Text(_cost_words(one, offers)),
            str(one.best.number_of_changes),
            Text(changes_text(one.best)),
            share_text(one.best.target_error, 1),
            share_text(one.best.change_elsewhere, 1),
        )
    return table


def _cost_words(one: Purchase, offers: Mapping[ShimKey, Offer]) -> str:
    packs = [
        f"{offers[key].packs(pieces)} pack of {offers[key].pack_size}"
        for key, pieces in one.pieces
        if offers[key].pack_size > 1
    ]
    cost = cost_of(one, offers)
    return ", ".join([*packs, "no price" if cost is None else f"{cost:.2f}"])
