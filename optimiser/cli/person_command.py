"""``shimwright person``: a rider's record, out of the ledger or gone from it."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError
from optimiser.report.printable import printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.ledger.mentions import Mention


@click.group("person")
def command() -> None:
    """Show, export or erase what the ledger holds about a rider. It never leaves this machine by itself.

    Example: shimwright person show Ines
    """


@command.command("show")
@click.argument("name")
@shop_option
@json_option
def show(name: str, shop: Path, as_json: bool) -> None:
    """Show a rider's jobs, what each ride showed, and every damper's stacks from first to last.

    Example: shimwright person show Ines
    """
    document = _document(name, shop)
    if as_json:
        say_json(json.dumps(document, ensure_ascii=False))
        return
    mass = "" if document["mass_kg"] is None else f", {document['mass_kg']:g} kg with kit"
    say(f"{document['name']}{mass}")
    for job in document["jobs"]:
        say(f"\nJob {job['name']}, {job['opened_at'][:10]}: {job['title']}")
        for outcome in document["outcomes"]:
            if outcome["job_id"] == job["id"]:
                say(f"  {outcome['at'][:10]} ride: {outcome['words']}")
    for damper in document["dampers"]:
        say(f"\nDamper {damper['name']}")
        for state in document["stacks"]:
            if state["damper_id"] == damper["id"]:
                say(f"  {state['at'][:10]} {state['origin']}, {state['stack_name']}:")
                say(f"    {', '.join(_lines(state['stack']))}")


@command.command("export")
@click.argument("name")
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="Write here instead of to the screen."
)
@shop_option
@click.option("--json", "as_json", is_flag=True, help="One line for programs instead of indented for people.")
def export(name: str, out: Path | None, shop: Path, as_json: bool) -> None:
    """Write everything that the ledger holds about a rider as JSON.

    Example: shimwright person export Ines --out ines.json
    """
    from optimiser.files.writing import write_whole

    text = json.dumps(_document(name, shop), indent=None if as_json else 2, ensure_ascii=False)
    if out is None:
        say(text)
    else:
        write_whole(out, text + "\n")
        say(f"Written to {out}.")


@command.command("erase")
@click.argument("name")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option(
    "--everywhere", is_flag=True, help="Take the name out of other riders' records, plans and sheets too."
)
@shop_option
@json_option
def erase(name: str, yes: bool, everywhere: bool, shop: Path, as_json: bool) -> None:
    """Make a rider nameless in the ledger for good; stock and stacks stay in the books. It cannot be undone.

    Lists first where the name also stands in the records, plans and sheets of others, and asks whether to
    take it out there too. Files beside the ledger (rider, job, sheet, a ledger set aside) and old backups are
    not touched: delete those yourself.

    Example: shimwright person erase Ines --yes
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.people import erase_person, mentioned_elsewhere

    with Ledger.open(shop) as ledger:
        if not yes:
            found = mentioned_elsewhere(ledger, name)
            _list(found, f"{name} also stands here, in the records of others:", err=True)
            click.confirm(printable(f"Erase {name} from the ledger for good?"), abort=True, err=True)
            if not everywhere and not all(mention.stays for mention in found):
                everywhere = click.confirm("Take the name out of the records of others too?", err=True)
        erasure = erase_person(ledger, name, everywhere=everywhere)
    if as_json:
        say_json(json.dumps(dataclasses.asdict(erasure), ensure_ascii=False))
        return
    say(
        f"{name} is erased: {erasure.jobs} jobs and {erasure.dampers} dampers are nameless, the name is "
        f"taken out of {erasure.mentions} other texts."
    )
    _list(erasure.left, "The name still stands here, in the records of others:")
    if not all(mention.stays for mention in erasure.left):
        say(f"shimwright person mentions '{name}' --redact takes it out of what is not itself a name.")
    say("Delete the rider's files, sheets and old backups yourself.")


@command.command("mentions")
@click.argument("name")
@click.option(
    "--redact", "take_out", is_flag=True, help="Take the name out of all that is not itself a name."
)
@shop_option
@json_option
def mentions(name: str, take_out: bool, shop: Path, as_json: bool) -> None:
    """List where a NAME stands in the ledger as a word: in notes, records, plans and sheets.

    Also the name of a rider who was erased. The names of riders, machines, dampers and jobs are listed and
    stay: by them the shop's files find their record.

    Example: shimwright person mentions Ines
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.mentions import mentions as where
    from optimiser.ledger.mentions import redact

    if not name.strip():
        raise InputError("NAME: got nothing, expected a rider's name. Put it in quotes.")
    with Ledger.open(shop) as ledger:
        changed = redact(ledger, name) if take_out else 0
        found = where(ledger, name)
    if as_json:
        places = [dataclasses.asdict(mention) for mention in found]
        say_json(json.dumps({"redacted": changed, "mentions": places}, ensure_ascii=False))
        return
    if take_out:
        say(f"Taken out of {changed} texts.")
    _list(found, f"{name} stands here:")
    if not found:
        say(f"{name} stands nowhere in the ledger.")


def _list(found: Sequence[Mention], title: str, *, err: bool = False) -> None:
    for line in (
        [title, *(f"  {m.where}: {m.what}{' (stays)' if m.stays else ''}" for m in found)] if found else ()
    ):
        say(line, err=err)


def _document(name: str, shop: Path) -> dict[str, Any]:
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.people import export_person

    with Ledger.open(shop) as ledger:
        return export_person(ledger, name)


def _lines(stack: list[list[int]]) -> list[str]:
    from optimiser.files.stack_text import lines_from_shims
    from optimiser.model.stock import ShimKey

    keys = [ShimKey(*sizes) for sizes in stack]
    return lines_from_shims(keys, hole=min(key.inner for key in keys)) if keys else ["no shims"]
