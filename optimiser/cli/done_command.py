"""``shimwright done``: what was reserved is fitted, what came out is put back."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from optimiser.actions.damper_on_file import bring_up_to_date, filing_code
from optimiser.actions.job_places import job_name
from optimiser.cli.ledger_options import shop_option, with_hole
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from optimiser.model.stock import ShimKey

_SCRAP: Final = re.compile(r"(?:([0-9]{1,3})\s+of\s+)?(\S+)")


@click.command("done")
@click.argument("job")
@click.option(
    "--scrap", multiple=True, metavar="TYPE", help="Came out bent: '17x0.20' or '2 of 17x0.20'; repeat."
)
@shop_option
@json_option
def command(job: str, scrap: tuple[str, ...], shop: Path, as_json: bool) -> int:
    """Record what JOB has reserved as fitted, and put back on the shelf what came out of the damper.

    Only whole, flat, unmarked shims go back: name the others with --scrap. The damper's file is written anew
    with the stacks, oil, gas pressure and bleeds that are in the damper now; 'shimwright undo' takes that
    back too.

    Example: shimwright done a_more_support --scrap 17x0.20
    """
    from optimiser.ledger.builds import done, open_build
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.jobs import file_lines

    name = job_name(job)
    with Ledger.open(shop) as ledger:
        standing = open_build(ledger, name)
        bent = {} if standing is None else _bent(scrap, standing.returned)
        build = done(ledger, name, scrapped=bent)
        filed = list(bring_up_to_date(ledger, shop, job))
    if as_json:
        words = [note.words for note in filed]
        document = {"job": build.job, "pick": build.pick, "state": build.state, "filed": words}
        say_json(json.dumps(document, ensure_ascii=False))
        return filing_code(filed)
    used, back = sum(build.taken.values()), sum(build.returned.values()) - sum(bent.values())
    say(f"{build.job}: {used} fitted, {back} put back on the shelf, {sum(bent.values())} scrapped.")
    for note in filed:
        say(note.words)
    if not filed:
        for stack, shims in build.stacks.items():
            say(f"In the damper's file, {stack!r} is now:\n{file_lines(shims)}")
    say("Wrong? shimwright undo")
    return filing_code(filed)


def _bent(texts: Iterable[str], returned: Mapping[ShimKey, int]) -> dict[ShimKey, int]:
    """The types that came out bent, by the names of what came out."""
    bent: dict[ShimKey, int] = {}
    for text in texts:
        match = _SCRAP.fullmatch(text.strip())
        found = [key for key in returned if match and _same(match[2], key)]
        if match is None or len(found) != 1:
            out = ", ".join(with_hole(key) for key in returned) or "nothing"
            raise InputError(f"--scrap: got {text!r}, expected one of what came out of the damper: {out}.")
        bent[found[0]] = bent.get(found[0], 0) + int(match[1] or 1)
    return bent


def _same(text: str, key: ShimKey) -> bool:
    outer, _, thickness = text.lower().partition("x")
    try:
        return (round(float(outer) * 1000), round(float(thickness) * 1000)) == (key.outer, key.thickness)
    except (ValueError, OverflowError):
        return False
