"""What every page works on: the shop's folder, its searches, who is in, and how a page is answered."""

from __future__ import annotations

import re
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, TypeVar, cast

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from optimiser.actions.compare_options import is_damper
from optimiser.actions.compare_subject import Subject, subject_of
from optimiser.bench.access import Visitor
from optimiser.bench.doors import Doors
from optimiser.bench.fingerprint import fingerprint_of_inputs
from optimiser.bench.kept_pages import KEPT, MOVES, ONCE
from optimiser.bench.searches import Searches
from optimiser.bench.work_folder import WorkKind
from optimiser.errors import InputError
from optimiser.ledger.connection import Ledger, ledger_in
from optimiser.report import templates
from optimiser.report.printable import printable
from optimiser.report.unit_system import UnitSystem

MOST_NOTES: Final = 400
MOST_KEPT: Final = 48
NAME: Final = re.compile(r"[A-Za-z0-9\u00c0-\u024f][A-Za-z0-9\u00c0-\u024f _-]{0,59}")
"""Of a job or a damper: what every system takes as a file's name, and what no path is made of."""


Made = TypeVar("Made")


class NothingThereError(InputError):
    """An address that leads to nothing."""


@dataclass(frozen=True, slots=True)
class PageNote:
    """What is said once, on the page after a step.

    Parameters
    ----------
    words : said.
    bad : whether something was refused.
    """

    words: str
    bad: bool = False


class Bench:
    """The shop that the pages show.

    Parameters
    ----------
    shop : its folder.
    doors : who is in.
    searches : its work in the background.
    addresses : where this page is reached, the first for this machine.
    units : what people read.
    """

    def __init__(
        self, shop: Path, *, doors: Doors, searches: Searches, addresses: tuple[str, ...], units: UnitSystem
    ) -> None:
        self.shop, self.doors, self.searches = shop, doors, searches
        self.addresses, self.units = addresses, units
        self._notes: OrderedDict[str, PageNote] = OrderedDict()
        self._made: OrderedDict[tuple[str, ...], tuple[object, object]] = OrderedDict()
        self._lock = threading.Lock()
        self.computing = threading.RLock()
        """Held while physics runs, which remembers what it computed and is asked by one page at a time."""

    @property
    def has_ledger(self) -> bool:
        """Whether the shop keeps books."""
        return ledger_in(self.shop)

    @contextmanager
    def looking(self) -> Iterator[Ledger]:
        """The ledger to read; nothing is made or changed."""
        with Ledger.look(self.shop) as ledger:
            yield ledger

    @contextmanager
    def changing(self) -> Iterator[Ledger]:
        """The ledger to change."""
        with Ledger.open(self.shop) as ledger:
            yield ledger

    @contextmanager
    def beginning(self) -> Iterator[Ledger]:
        """New books."""
        with Ledger.open(self.shop, create=True) as ledger:
            yield ledger

    def jobs(self) -> dict[str, Path]:
        """The job files, by name."""
        return _named(self.shop / "jobs")

    def dampers(self) -> dict[str, Path]:
        """The damper files, by name."""
        return _named(self.shop / "dampers")

    def job(self, request: Request) -> tuple[str, Path]:
        """The job that an address names."""
        return _one_of(self.jobs(), request.path_params["job"], "job")

    def damper(self, request: Request) -> tuple[str, Path]:
        """The damper that an address names."""
        return _one_of(self.dampers(), request.path_params["damper"], "damper")

    def subject(self, path: Path, *, stack: str | None = None) -> Subject:
        """A job or a damper set up for questions; kept for as long as no file of the shop changes."""

        def make() -> Subject:
            return subject_of(
                path,
                stack=stack,
                as_found=False,
                bands=(),
                stack_needed=is_damper(path),
                notice=lambda _: None,
            )

        return self.kept(("subject", str(path), stack or ""), make)

    def kept(self, key: tuple[str, ...], make: Callable[[], Made]) -> Made:
        """What was made of the shop's files, kept for as long as none of them changes.

        Parameters
        ----------
        key : what it is.
        make : makes it.
        """
        stamp = fingerprint_of_inputs(self.shop)
        with self._lock:
            kept = self._made.get(key)
            if kept is not None and kept[0] == stamp:
                self._made.move_to_end(key)
                return cast(Made, kept[1])
        with self.computing:
            found = make()
        with self._lock:
            self._made[key] = (stamp, found)
            while len(self._made) > MOST_KEPT:
                self._made.popitem(last=False)
        return found

    def standing(self, request: Request, name: str, kind: WorkKind = WorkKind.SEARCH) -> str | None:
        """What work on a job or a damper does now; a page that says so is out of date a moment later."""
        found = self.searches.standing(name, kind)
        if found is not None:
            request.scope[MOVES] = True
        return found

    def page(self, request: Request, template: str, *, status: int = 200, **content: Any) -> Response:
        """A page from its template; any text in it may come from a stranger and is escaped."""
        visitor: Visitor = request.scope["visitor"]
        with self._lock:
            note = self._notes.get(request.query_params.get("note", ""))
        text = templates.template(template, package="optimiser.bench", folder="templates").render(
            visitor=visitor,
            note=note,
            units=self.units,
            shop_name=self.shop.resolve().name,
            path=request.scope["path"],
            once=ONCE if request.scope.get(KEPT) else secrets.token_hex(8),
            **content,
        )
        return HTMLResponse(printable(text), status_code=status)

    def on(self, path: str, words: str = "", *, bad: bool = False) -> Response:
        """Go on to a page, where something is said once."""
        if not words:
            return RedirectResponse(path, status_code=303)
        number = secrets.token_hex(6)
        with self._lock:
            self._notes[number] = PageNote(words, bad)
            while len(self._notes) > MOST_NOTES:
                self._notes.popitem(last=False)
        place, _, mark = path.partition("#")
        return RedirectResponse(
            f"{place}{'&' if '?' in place else '?'}note={number}{'#' + mark if mark else ''}",
            status_code=303,
        )


def form_of(request: Request) -> dict[str, str]:
    """The fields of a form; the wall around the pages read them."""
    fields: dict[str, str] = request.scope["form"]
    return fields


def whole_number(form: dict[str, str], field: str, *, least: int, most: int) -> int:
    """A whole number of a form.

    Raises
    ------
    InputError
        Naming the field.
    """
    text = form.get(field, "").strip()
    if not (text.isascii() and text.isdecimal() and len(text) < 10 and least <= int(text) <= most):
        raise InputError(f"{field}: got {text[:40]!r}, expected a whole number from {least} to {most}.")
    return int(text)


def _named(folder: Path) -> dict[str, Path]:
    return {path.stem: path for path in sorted(folder.glob("*.toml")) if NAME.fullmatch(path.stem)}


def _one_of(known: dict[str, Path], name: str, what: str) -> tuple[str, Path]:
    if name not in known:
        raise NothingThereError(f"got no {what} of that name, expected one of those in the shop's folder.")
    return name, known[name]
