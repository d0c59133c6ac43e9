"""Pages for guests: made once for however many look on at the same moment, and at most a second old."""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from collections.abc import MutableMapping
from dataclasses import dataclass
from typing import Any, Final

FRESH: Final = 1.0
"""How old a guest's page may be. [s]"""

MOST_PAGES: Final = 64
"""Kept at a time."""

Messages = list[MutableMapping[str, Any]]


@dataclass(slots=True)
class _Kept:
    """An answer, or that somebody makes it just now."""

    lock: asyncio.Lock
    made: float = -FRESH
    messages: Messages | None = None


class GuestPages:
    """Answers to guests, who change nothing, so that many of them see one and the same.

    Parameters
    ----------
    pages : the application behind.
    """

    def __init__(self, pages: Any) -> None:
        self._pages = pages
        self._kept: OrderedDict[bytes, _Kept] = OrderedDict()

    async def __call__(self, scope: MutableMapping[str, Any], receive: Any, send: Any) -> None:
        """Answer one guest."""
        target = scope["method"].encode() + scope["path"].encode() + b"?" + scope["query_string"]
        kept = self._kept.setdefault(target, _Kept(asyncio.Lock()))
        self._kept.move_to_end(target)
        while len(self._kept) > MOST_PAGES:
            self._kept.popitem(last=False)
        async with kept.lock:
            if kept.messages is None or time.monotonic() - kept.made > FRESH:
                kept.messages = await self._make(scope, receive)
                kept.made = time.monotonic()
            messages = kept.messages
        for message in messages:
            await send(dict(message))

    async def _make(self, scope: MutableMapping[str, Any], receive: Any) -> Messages:
        messages: Messages = []

        async def keep(message: MutableMapping[str, Any]) -> None:
            messages.append(message)

        await self._pages(scope, receive, keep)
        return messages
