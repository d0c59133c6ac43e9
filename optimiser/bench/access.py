"""The wall around the pages: each request is looked at before any page sees it, and each answer is fenced."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Collection, MutableMapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final

from optimiser.bench.bodies import read_form
from optimiser.bench.doors import Doors, VisitorRole
from optimiser.bench.kept_pages import KeptPages
from optimiser.bench.refusals import AskedRequest, Refusal, brings_file, refusal_of
from optimiser.bench.uploads import Upload, read_upload

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

OPEN: Final = ("/bench.css", "/bench.js", "/bench.svg", "/enter")
"""What anybody on a listed host may fetch: how it looks, and the page that swaps a key."""

FENCE: Final = {
    "content-security-policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "cache-control": "no-store",
}
"""What every answer carries; a page may put a policy of its own before it."""


READING: Final = ("GET", "HEAD")

FRESH: Final = {VisitorRole.LOOKS_ON: 1.0, VisitorRole.WORKS: 0.0}
"""How old a page may be before it is looked whether something has changed: who works sees it at once. [s]"""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who asks.

    Parameters
    ----------
    role : what he may do; None for somebody who has not come in.
    session : that his browser sent; None without one.
    """

    role: VisitorRole | None
    session: str | None

    @property
    def works(self) -> bool:
        """Whether he may change things."""
        return self.role is VisitorRole.WORKS


class Access:
    """Looks at each request before the pages do.

    Parameters
    ----------
    pages : the application behind; it finds the visitor under ``visitor``, a form's fields under ``form``,
        and a file that it brings under ``upload``.
    refuse : answers a refused request.
    doors : who is in.
    hosts : names with port that the page is served under.
    cookie : what the session is kept as; it names the port, since browsers share cookies among ports.
    fingerprint : what changes when something changes that a page shows.
    """

    def __init__(
        self,
        pages: App,
        *,
        refuse: Callable[[Refusal, Visitor], App],
        doors: Doors,
        hosts: Collection[str],
        cookie: str,
        fingerprint: Callable[[], object],
    ) -> None:
        self._pages, self._refuse, self._doors = pages, refuse, doors
        self._steps = 0
        self._kept = {
            role: KeptPages(pages, fingerprint=lambda: (self._steps, fingerprint()), fresh=fresh)
            for role, fresh in FRESH.items()
        }
        self._hosts, self._cookie = frozenset(hosts), cookie

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self._pages(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no page opens a socket; the server closes one that nobody takes
        asked = AskedRequest.of(
            method=scope["method"],
            path=scope["path"],
            raw_path=scope.get("raw_path") or scope["path"].encode("utf-8", errors="replace"),
            query=scope.get("query_string", b""),
            headers=scope["headers"],
        )
        session = self._session(asked)
        visitor = Visitor(self._doors.role_of(session), session)
        refused = refusal_of(asked, hosts=self._hosts) or _may_not(asked, visitor)
        if refused is None and asked.method == "POST":
            found = await _body(asked, receive)
            if isinstance(found, Refusal):
                refused = found
            elif isinstance(found, Upload):
                scope["form"], scope["upload"] = found.fields, found
            else:
                scope["form"] = found
        scope["visitor"] = visitor
        app = self._refuse(refused, visitor) if refused is not None else self._pages_for(asked, visitor)
        try:
            await app(scope, _nothing_more, _fenced(send, close=refused is not None))
        finally:
            self._steps += asked.method == "POST"

    def _pages_for(self, asked: AskedRequest, visitor: Visitor) -> App:
        """The pages that are kept; made anew for a form, for a stranger, and where something is said once."""
        own = asked.method not in READING or asked.path in OPEN or b"note=" in asked.target
        return self._pages if own or visitor.role is None else self._kept[visitor.role]

    def _session(self, asked: AskedRequest) -> str | None:
        try:
            jar = SimpleCookie(asked.header("cookie") or "")
        except CookieError:
            return None
        found = jar.get(self._cookie)
        return None if found is None else found.value


def _may_not(asked: AskedRequest, visitor: Visitor) -> Refusal | None:
    if asked.path in OPEN or (asked.path.startswith("/enter/") and asked.method != "POST"):
        return None
    if visitor.role is None:
        return Refusal(401, "This bench is locked. Open it with the address that 'shimwright bench' printed.")
    if asked.method == "POST" and not visitor.works:
        return Refusal(403, "You look on here; only those who work at this bench change things.")
    return None


async def _body(asked: AskedRequest, receive: Receive) -> dict[str, str] | Upload | Refusal:
    length = asked.header("content-length")
    if not brings_file(asked):
        return await read_form(receive, length=length)
    return await read_upload(receive, length=length, content_type=asked.header("content-type") or "")


async def _nothing_more() -> MutableMapping[str, Any]:
    """What a page gets that reads on: the body was read before it."""
    return {"type": "http.request", "body": b"", "more_body": False}


def _fenced(send: Send, *, close: bool) -> Send:
    async def fenced(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            headers = list(message.get("headers", ()))
            there = {name.lower() for name, _ in headers}
            headers += [
                (name.encode(), value.encode()) for name, value in FENCE.items() if name.encode() not in there
            ]
            if close:
                headers.append((b"connection", b"close"))
            message = {**message, "headers": headers}
        await send(message)

    return fenced
