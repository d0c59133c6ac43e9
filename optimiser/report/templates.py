"""The templates of every page: any text in them may come from a stranger and is escaped."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template


@cache
def template(name: str) -> Template:
    """A template of this folder by the name of its file."""
    environment = Environment(
        loader=PackageLoader("optimiser.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name)
