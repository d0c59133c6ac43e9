"""Pages for guests: made once for however many look on, and again only when the shop's files have changed."""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from collections.abc import Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any, Final

FRESH: Final = 1.0
"""For how long nobody looks whether something has changed. [s]"""

MOVES: Final = "moves"
"""Under this a page says in its scope that it tells of something that goes on, and is soon out of date."""

MOST_PAGES: Final = 64
"""Kept at a time."""

Messages = list[MutableMapping[str, Any]]


@dataclass(slots=True)
class _Kept:
    """An answer, or that somebody makes it just now."""

    lock: asyncio.Lock
    looked: float = -FRESH
    messages: Messages = field(default_factory=list)
    fingerprint: object = None
    stays: bool = False

    @property
    def fresh(self) -> bool:
        """Whether nobody need look yet."""
        return time.monotonic() - self.looked < FRESH


class GuestPages:
    """Answers to guests, who change nothing, so that many of them see one and the same.

    Parameters
    ----------
    pages : the application behind.
    fingerprint : what changes when something changes that a page shows.
    """

    def __init__(self, pages: Any, *, fingerprint: Callable[[], object]) -> None:
        self._pages, self._fingerprint = pages, fingerprint
        self._kept: OrderedDict[bytes, _Kept] = OrderedDict()

    async def __call__(self, scope: MutableMapping[str, Any], receive: Any, send: Any) -> None:
        """Answer one guest."""
        target = scope["method"].encode() + scope["path"].encode() + b"?" + scope["query_string"]
        kept = self._kept.setdefault(target, _Kept(asyncio.Lock()))
        self._kept.move_to_end(target)
        while len(self._kept) > MOST_PAGES:
            self._kept.popitem(last=False)
        if not kept.fresh:
            async with kept.lock:
                if not kept.fresh:  # else another guest waited for it first
                    await self._look(kept, scope, receive)
        for message in kept.messages:
            await send(dict(message))

    async def _look(self, kept: _Kept, scope: MutableMapping[str, Any], receive: Any) -> None:
        """Make an answer anew if something has changed since."""
        now = self._fingerprint()  # before the page, so that what changes meanwhile is seen the next time
        if not kept.stays or now != kept.fingerprint:
            messages: Messages = []

            async def keep(message: MutableMapping[str, Any]) -> None:
                messages.append(message)

            try:
                await self._pages(scope, receive, keep)
            except Exception:
                if not messages:
                    raise
                # It is raised again for a server's log; the page about it is made.
            kept.messages, kept.fingerprint = messages, now
            kept.stays = messages[0]["status"] == 200 and not scope.get(MOVES)
        kept.looked = time.monotonic()
