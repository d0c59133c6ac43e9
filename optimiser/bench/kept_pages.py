"""Pages made once for however many read them, and again only when a file of the shop has changed."""

from __future__ import annotations

import asyncio
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any, Final

MOVES: Final = "moves"
"""Under this a page says in its scope that it tells of something that goes on, and is soon out of date."""

KEPT: Final = "kept"
"""Under this a page finds in its scope that it is kept for other readers, too."""

ONCE: Final = secrets.token_hex(8)
"""Stands in a kept page where each reader's own number goes, by which a form that is sent twice is known."""

MOST_PAGES: Final = 64
"""Kept at a time."""

Messages = list[MutableMapping[str, Any]]


@dataclass(slots=True)
class _Kept:
    """An answer, or that somebody makes it just now."""

    lock: asyncio.Lock
    looked: float = float("-inf")
    messages: Messages = field(default_factory=list)
    fingerprint: object = None
    stays: bool = False


class KeptPages:
    """Answers to those who read the same, and may do the same.

    Parameters
    ----------
    pages : the application behind.
    fingerprint : what changes when something changes that a page shows.
    fresh : how old a page may be before somebody looks whether something has changed. [s]
    """

    def __init__(self, pages: Any, *, fingerprint: Callable[[], object], fresh: float) -> None:
        self._pages, self._fingerprint, self._fresh = pages, fingerprint, fresh
        self._kept: OrderedDict[bytes, _Kept] = OrderedDict()

    async def __call__(self, scope: MutableMapping[str, Any], receive: Any, send: Any) -> None:
        """Answer one reader."""
        came = time.monotonic()
        target = scope["method"].encode() + scope["path"].encode() + b"?" + scope["query_string"]
        kept = self._kept.setdefault(target, _Kept(asyncio.Lock()))
        self._kept.move_to_end(target)
        while len(self._kept) > MOST_PAGES:
            self._kept.popitem(last=False)
        if kept.looked < came - self._fresh:
            async with kept.lock:
                if kept.looked < came - self._fresh:  # else somebody looked while this reader waited
                    await self._look(kept, scope, receive)
        own = secrets.token_hex(8).encode()
        for message in kept.messages:
            body = message.get("body", b"")
            await send({**message, "body": body.replace(ONCE.encode(), own)} if body else dict(message))

    async def _look(self, kept: _Kept, scope: MutableMapping[str, Any], receive: Any) -> None:
        """Make an answer anew if something has changed since."""
        looked, now = time.monotonic(), self._fingerprint()  # first: what changes meanwhile is seen next time
        if not kept.stays or now != kept.fingerprint:
            messages: Messages = []

            async def keep(message: MutableMapping[str, Any]) -> None:
                messages.append(message)

            scope[KEPT] = True
            try:
                await self._pages(scope, receive, keep)
            except Exception:
                if not messages:
                    raise
                # It is raised again for a server's log; the page about it is made.
            kept.messages, kept.fingerprint = messages, now
            kept.stays = messages[0]["status"] == 200 and not scope.get(MOVES)
        kept.looked = looked
