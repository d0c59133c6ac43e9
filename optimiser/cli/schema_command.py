"""``shimwright schema``: what an input file may hold, as JSON Schema."""

from __future__ import annotations

import json

import click

from optimiser.cli.saying import say_json


@click.command("schema")
@click.argument(
    "kind",
    type=click.Choice(
        ["job", "damper", "stock", "bike", "rider", "symptoms", "rides", "kind", "dyno-machine", "logger"]
    ),
)
@click.option("--json", "compact", is_flag=True, help="One line for programs instead of indented for people.")
def command(kind: str, compact: bool) -> None:
    """Print the JSON Schema of an input file.

    'stock' describes one line of the shelf's CSV file; the others are TOML files. 'kind' is a kind of damper,
    machine or rider that 'intake' asks by, 'dyno-machine' and 'logger' say what the columns of one are.

    Example: shimwright schema damper > damper.schema.json
    """
    from optimiser.files.schemas import schema_of

    say_json(json.dumps(schema_of(kind), indent=None if compact else 2, ensure_ascii=False))
