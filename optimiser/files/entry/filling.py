"""From a kind and its answers to the tables of a file, with what was not measured."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from optimiser.errors import InputError
from optimiser.files.entry.form_file import FigureSection, Form
from optimiser.files.entry.part import Part
from optimiser.files.entry.readings import Beside, Parts, parts_of
from optimiser.files.entry.usual import usual_parts

NOT_KNOWN: Final = "not known"
"""The answer that takes what is usual."""

NONE: Final = "none"
"""The answer that there is no such part."""

_TERM: Final = re.compile(r"(?:(?P<factor>\d+(?:\.\d+)?)\s+)?(?P<name>[a-z][a-z \-]*)(?:\.(?P<part>[a-z]+))?")


_SMALLER: Final = re.compile(r"=\s*smaller of (.+) and (.+)")


class _LeftOutError(Exception):
    """A figure that is left out, or a part that the thing does not have."""

    def __init__(self, whole_table: bool) -> None:
        self.whole_table = whole_table


@dataclass(slots=True)
class Filling:
    """A file on its way.

    Parameters
    ----------
    tables : of the file, as far as answers go, usual values elsewhere.
    not_measured : figures that are only usual, with how far off they may be. [%]
    """

    tables: dict[str, Any]
    not_measured: dict[str, float] = field(default_factory=dict)


def filled(form: Form, answers: Mapping[str, str]) -> Filling:
    """The file that a kind and answers amount to.

    Parameters
    ----------
    form : the kind.
    answers : by figure; one that is missing is taken as usual.

    Raises
    ------
    InputError
        When an answer cannot be read, or the kind names a figure that it does not have.
    """
    return _Filler(form, answers).filling()


def figure_parts(form: Form, figure: FigureSection, answers: Mapping[str, str]) -> Parts:
    """What one answer says, with the others at hand.

    Raises
    ------
    InputError
        Saying what was expected.
    """
    filler, text = _Filler(form, answers), answers[figure.key]
    return filler.usual(figure) if text == NOT_KNOWN else filler.read(figure, text)


class _Filler:
    def __init__(self, form: Form, answers: Mapping[str, str]) -> None:
        self.source: Path = form.source
        self.template = form.file
        self.figures = {figure.key: figure for figure in form.figures}
        self.answers = answers
        self.known: dict[str, Parts] = {}
        self.not_measured: dict[str, float] = {}

    def filling(self) -> Filling:
        tables: dict[str, Any] = {}
        for key, value in self.template.items():
            self._put(tables, key, value, "")
        return Filling(tables, self.not_measured)

    def read(self, figure: FigureSection, text: str) -> Parts:
        hole = 0.0 if figure.hole is None else float(self._parts(figure.hole)[""].value)
        usual = self._resolved(figure.usual).value if figure.reads == "clicker" else None
        return parts_of(figure.reads, text, Beside(usual=usual, hole=hole, off=figure.off_percent))

    def _put(self, into: dict[str, Any], key: str, value: Any, part: str, *, listed: bool = False) -> None:
        """Fill one key; a figure that is left out leaves its key out."""
        if isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
            tables = list(self._tables(value))
            into.update({key: tables} if tables else {})
            return
        if isinstance(value, dict):
            into[key] = self._table(key, value, part, listed=listed)
            return
        try:
            found = self._resolved(value)
        except _LeftOutError as left:
            if left.whole_table and listed:
                raise
            return
        into[key] = found.value
        if found.off is not None:
            self.not_measured[f"{part}.{key}" if part else key] = found.off

    def _table(self, key: str, value: dict[str, Any], part: str, *, listed: bool) -> dict[str, Any]:
        """Fill a table; one inside a part counts as one figure of that part, one of the file as a part."""
        noted, inner = self.not_measured, dict[str, Any]()
        self.not_measured = {}
        for below, one in value.items():
            self._put(inner, below, one, "", listed=listed)
        within, self.not_measured = self.not_measured, noted
        if part:
            noted.update({f"{part}.{key}": max(within.values())} if within else {})
        else:
            noted.update({f"{key}.{below}": off for below, off in within.items()})
        return inner

    def _tables(self, values: Iterable[dict[str, Any]]) -> Iterable[dict[str, Any]]:
        """Fill the tables of a list, but for those that name a part which is not there."""
        for value in values:
            noted, table = dict(self.not_measured), dict[str, Any]()
            name = str(self._resolved(value.get("name", "")).value)
            try:
                for key, one in value.items():
                    self._put(table, key, one, name, listed=True)
            except _LeftOutError:
                self.not_measured = noted
                continue
            yield table

    def _resolved(self, value: Any) -> Part:
        """A value of the kind: as it stands, or what a formula names."""
        if isinstance(value, str) and value.startswith("="):
            if two := _SMALLER.fullmatch(value):
                return min((self._term(two[1]), self._term(two[2])), key=lambda one: one.value)
            terms = [self._term(term.strip()) for term in value[1:].split("+")]
            return terms[0] if len(terms) == 1 else _sum(terms)
        if isinstance(value, list):
            inside = [self._resolved(one) for one in value]
            off = max((one.off for one in inside if one.off is not None), default=None)
            return Part([one.value for one in inside], off)
        return Part(value)

    def _term(self, text: str) -> Part:
        match = _TERM.fullmatch(text)
        if match is None or match["name"].strip() not in self.figures:
            raise InputError(
                f"{self.source}: got '= {text}', expected '= 0.8 figure.part' with a figure of it."
            )
        parts = self._parts(match["name"].strip())
        part = parts.get(match["part"] or "")
        if part is None:
            raise InputError(f"{self.source}: got '= {text}', expected a part of {', '.join(parts)}.")
        if match["factor"] is None:
            return part
        if not isinstance(part.value, (int, float)):
            raise InputError(f"{self.source}: got '= {text}', expected a number to take so many times.")
        return Part(_rounded(float(match["factor"]) * part.value), part.off)

    def _parts(self, key: str) -> Parts:
        if key not in self.known:
            self.known[key] = {}  # a figure that is usual by way of itself finds nothing here
            self.known[key] = self._found(self.figures[key])
        return self.known[key]

    def _found(self, figure: FigureSection) -> Parts:
        text = self.answers.get(figure.key, "")
        if text == NONE:
            raise _LeftOutError(whole_table=True)
        if text in {"", NOT_KNOWN}:
            if figure.not_known == "left out":
                raise _LeftOutError(whole_table=False)
            return self.usual(figure)
        return self.read(figure, text)

    def usual(self, figure: FigureSection) -> Parts:
        """What is usual, in the parts that an answer would have."""
        hole = 0.0 if figure.hole is None else float(self._parts(figure.hole)[""].value)
        try:
            value = None if figure.usual is None else self._resolved(figure.usual).value
            return usual_parts(figure.reads, value, off=figure.off_percent, hole=hole)
        except (TypeError, ValueError, LookupError) as error:
            raise InputError(
                f"{self.source}: usual of '{figure.key}': got {figure.usual!r}, expected one that reads as "
                f"{figure.reads} ({error}). Look at a kind that comes with the program."
            ) from None


def _sum(terms: Sequence[Part]) -> Part:
    """A sum, as far off as its unmeasured terms make it."""
    total = float(sum(term.value for term in terms))
    off = sum(term.off * term.value for term in terms if term.off is not None)
    return Part(_rounded(total), _rounded(off / total) if off else None)


def _rounded(value: float) -> float:
    return float(f"{value:.4g}")
