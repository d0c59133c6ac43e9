"""What a shelf file changes or would change, line by line."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from optimiser.cli.ledger_options import type_keys
from optimiser.cli.saying import say, say_json
from optimiser.files.micrometer import readings_text

if TYPE_CHECKING:
    from optimiser.ledger.shelf_changes import CountDifference, ShelfDifferences


def show_differences(found: ShelfDifferences, *, words: bool, written: bool, as_json: bool) -> None:
    """Print the lines of a file that differ from the ledger.

    Parameters
    ----------
    found : the comparison.
    words : whether drawers, labels and low marks count.
    written : whether the ledger now holds it.
    as_json : for programs.
    """
    changing = found.changing(words=words)
    if as_json:
        rows = [
            type_keys(d.row.key)
            | {"line": d.line, "before": d.before.shelf if d.before else None, "count": d.row.count}
            | {"words_change": words and d.words_change}
            for d in changing
        ]
        document = {
            "format": "shimwright shelf changes 1",
            "written": written,
            "step": found.operation,
            "changes": rows,
            "unchanged": len(found.lines) - len(changing),
            "not_in_file": [type_keys(level.key) | {"shelf": level.shelf} for level in found.not_in_file],
        }
        say_json(json.dumps(document, ensure_ascii=False))
        return
    from optimiser.cli.plain_table import show_table

    show_table(
        ("Line", "Type", "Hole", "Ledger", "File", "Change", "Also"),
        [_row(d, words=words) for d in changing],
        numbers=(0, 2, 3, 4, 5),
        empty="The file and the ledger agree.",
    )
    same = len(found.lines) - len(changing)
    say(f"{len(changing)} lines differ, {same} agree, {len(found.not_in_file)} types are not in the file.")
    if found.not_in_file:
        names = ", ".join(str(level.key) for level in found.not_in_file[:8])
        more = " and more" if len(found.not_in_file) > 8 else ""
        say(f"Not in the file, left as they are: {names}{more}.")
    if found.operation is not None:
        say(f"Written. Wrong? shimwright undo {found.operation}")
    elif changing and not written:
        say("Nothing is written yet. The same with --write does it.")


def _row(difference: CountDifference, *, words: bool) -> tuple[str, ...]:
    before = difference.before
    also = []
    if before is None:
        also.append("new type")
    elif words and difference.words_change:
        row = difference.row
        also += [f"drawer {row.drawer or '-'}"] if row.drawer != before.drawer else []
        also += [f"label {row.label or '-'}"] if row.label != before.label else []
        also += (
            [f"low at {row.low_at if row.low_at is not None else '-'}"] if row.low_at != before.low_at else []
        )
        also += [f"read {readings_text(row.readings) or '-'}"] if row.readings != before.noted else []
    change = difference.count_change
    return (
        str(difference.line),
        str(difference.row.key),
        f"{difference.row.key.inner / 1000:g}",
        "" if before is None else str(before.shelf),
        str(difference.row.count),
        f"{change:+d}" if change else "",
        ", ".join(also),
    )
