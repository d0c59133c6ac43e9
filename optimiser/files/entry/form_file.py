"""A kind of rider, machine or damper as data: its figures, how each is measured, and the file that they fill.

The kinds that come with the program lie beside this module. A shop puts its own, or changed copies of these,
into ``kinds/rider``, ``kinds/bike`` and ``kinds/damper`` of its folder; a file of a known name takes that
one's place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import Field, StringConstraints, model_validator

from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.files.entry.readings import READINGS

OUR_OWN: Final = Path(__file__).with_name("kinds")
"""The kinds that come with the program."""

SHOPS_OWN: Final = "kinds"
"""Folder of a shop's own kinds, in the shop's folder."""

Key = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[a-z][a-z \-]*$")]
Words = Annotated[str, StringConstraints(max_length=1500, strip_whitespace=False)]
"""Spaces in front are part of a picture."""


class FigureSection(FileModel):
    """One figure of a kind: asked for, or only taken as usual."""

    key: Key
    """What the kind calls it; answers are kept under it."""
    ask: Words = ""
    """The question; one without is never asked."""
    how: Words = ""
    """How to measure it, in a sentence or a small picture of letters."""
    why: Words = ""
    """What it is good for, shown on '?'."""
    reads: Annotated[str, Field(max_length=40)] = "length"
    """How an answer is read: length, weight, pressure, stack, ports, clicker, oil, ..."""
    hole: Key | None = None
    """Of a stack: the figure that is the hole of its shims."""
    usual: Any = None
    """What the kind usually has: a value, or '= 0.8 piston', so many times another figure."""
    off_percent: Annotated[float, Field(gt=0, le=300)] = 20.0
    """How far off the usual may be."""
    not_known: Literal["usual", "left out", "needed"] = "usual"
    """What 'not known' does: take the usual, leave the figure out, or ask again."""
    may_be_none: bool = False
    """Whether there may be no such part: then the table that names it is left out."""
    belongs_to: Key | None = None
    """A figure that this one is asked with: not where that one is none."""

    @model_validator(mode="after")
    def _can_be_read(self) -> FigureSection:
        if self.reads not in READINGS:
            raise ValueError(f"reads to be one of {', '.join(READINGS)}, got {self.reads!r}")
        if self.usual is None and (self.not_known == "usual" or not self.ask):
            raise ValueError(f"a usual value for '{self.key}', which may be taken without being measured")
        if (self.reads == "stack") != (self.hole is not None):
            raise ValueError(f"hole beside reads = 'stack', and only there; see '{self.key}'")
        return self


class FormFile(FileModel):
    """A kind of thing that is entered by answering questions."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    about: Words = ""
    """A picture or a sentence, shown before its questions."""
    like: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")] | None = None
    """Another kind of the same folder, which this one is but for its usual values."""
    usual: dict[str, Any] = Field(default_factory=dict)
    """Usual values that differ from those of the kind that it is like, by figure."""
    figure: Annotated[tuple[FigureSection, ...], Field(max_length=80)] = ()
    file: dict[str, Any] = Field(default_factory=dict)
    """The file to write. '= figure' stands for an answer, '= 0.8 figure.part' for so many times a part,
    '= one + another' for a sum, '= smaller of one and another' for the smaller."""

    @model_validator(mode="after")
    def _whole(self) -> FormFile:
        if self.like is None and not (self.figure and self.file):
            raise ValueError("figures and a file to fill, or like = the kind that it is but for usual values")
        if self.like is not None and (self.figure or self.file):
            raise ValueError("either like, or figures and a file of its own, and not both")
        keys = [figure.key for figure in self.figure]
        for key in keys:
            if keys.count(key) > 1:
                raise ValueError(f"every figure to have a key of its own, got {key!r} twice")
        for figure in self.figure:
            for other in (figure.hole, figure.belongs_to):
                if other is not None and other not in keys:
                    raise ValueError(f"'{figure.key}' to name one of {', '.join(keys)}, got {other!r}")
        return self


@dataclass(frozen=True, slots=True)
class Form:
    """A kind, whole.

    Parameters
    ----------
    source : its file, for messages.
    name : of the kind.
    about : shown before its questions.
    figures : in the order in which they are asked.
    file : what they fill.
    """

    source: Path
    name: str
    about: str
    figures: tuple[FigureSection, ...]
    file: Mapping[str, Any]


def forms_of(key: str, shop: Path) -> tuple[Form, ...]:
    """The kinds of rider, bike or damper that a shop may enter, by name.

    Raises
    ------
    InputError
        Naming the file of a kind that cannot be used.
    """
    files: dict[str, Path] = {}
    for folder in (OUR_OWN / key, shop / SHOPS_OWN / key):
        files |= {path.stem: path for path in sorted(folder.glob("*.toml"))}
    forms = (_form(path, files) for path in files.values())
    return tuple(sorted(forms, key=lambda form: form.name))


@lru_cache(maxsize=100)
def _read(path: Path, changed: int) -> FormFile:  # noqa: ARG001 (another time of change is another content)
    """A kind's file, read once: every question of an intake looks at it again."""
    return read_toml(path, FormFile, what="kind")


def _file(path: Path) -> FormFile:
    return _read(path, path.stat().st_mtime_ns)


def _form(path: Path, files: Mapping[str, Path]) -> Form:
    file = _file(path)
    if file.like is None:
        return Form(path, file.name, file.about, _usual(file, file.figure, path), file.file)
    base = files.get(file.like)
    like = None if base is None else _file(base)
    if like is None or like.like is not None:
        raise InputError(
            f"{path}: like: got {file.like!r}, expected a kind of the same folder that is whole in itself. "
            f"There are: {', '.join(files)}."
        )
    return Form(path, file.name, file.about or like.about, _usual(file, like.figure, path), like.file)


def _usual(file: FormFile, figures: tuple[FigureSection, ...], path: Path) -> tuple[FigureSection, ...]:
    known = {figure.key for figure in figures}
    for key in file.usual:
        if key not in known:
            raise InputError(f"{path}: usual: got {key!r}, expected one of {', '.join(sorted(known))}.")
    return tuple(
        figure.model_copy(update={"usual": file.usual[figure.key]}) if figure.key in file.usual else figure
        for figure in figures
    )
