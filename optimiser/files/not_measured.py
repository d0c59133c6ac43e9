"""The [not_measured] table of a damper or bike file: what nobody measured, and how far off it may be.

A key is a figure's own key, with the name of its part in front where it has one: ``"shaft_diameter_mm"``,
``"compression stack.port_area_mm2"``, ``"rear.load_share"``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from typing import Annotated, Final

from pydantic import Field

from optimiser.files.base import FileModel
from optimiser.model.unmeasured import Unmeasured

NotMeasured = Annotated[
    dict[Annotated[str, Field(max_length=200)], Annotated[float, Field(gt=0, le=300)]], Field(max_length=200)
]
"""How far off each figure may be, in percent of what stands in the file."""


SAID: Final = {"area_mm2": "open areas", "room_mm": "room for the stack"}
"""Keys that do not say it by themselves."""


def refuse_unknown_figures(listed: Mapping[str, float], parts: Mapping[str, FileModel]) -> None:
    """Refuse what names no figure of the file.

    Parameters
    ----------
    listed : the table.
    parts : every table of the file by the name of its part; the file itself has none.
    """
    known = {
        f"{name}.{field}" if name else field
        for name, part in parts.items()
        for field in type(part).model_fields
        if field != "name"
    }
    for figure in listed:
        if figure not in known:
            near = difflib.get_close_matches(figure, known, n=1)
            hint = (
                f"did you mean {near[0]!r}?" if near else "write it as 'part.key', like 'oil.temperature_c'"
            )
            raise ValueError(f"not_measured to name figures of this file, got {figure!r}; {hint}")


def unmeasured_of(listed: Mapping[str, float]) -> tuple[Unmeasured, ...]:
    """The figures in words: ``port area of 'compression stack'``."""
    return tuple(Unmeasured(words_of(figure), off / 100, *_place(figure)) for figure, off in listed.items())


def words_of(figure: str) -> str:
    """A key as a person says it, without its unit."""
    part, plain = _place(figure)
    plain = SAID.get(figure.rpartition(".")[2]) or plain.replace("_", " ")
    return f"{plain} of '{part}'" if part else plain


def _place(figure: str) -> tuple[str, str]:
    """Name of the part, and key without its unit."""
    part, _, key = figure.rpartition(".")
    return part, re.sub(r"_(mm2_s|mm2|mm|bar|n_mm|kg_m3|kg|n|c|cm3)$", "", key)
