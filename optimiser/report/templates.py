"""The templates of every page: any text in them may come from a stranger and is escaped."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template


@cache
def template(name: str, *, package: str = "optimiser.report", folder: str = ".") -> Template:
    """A template by the name of its file, of this folder unless another package keeps it."""
    environment = Environment(
        loader=PackageLoader(package, folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(name)
