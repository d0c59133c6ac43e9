"""Many readers who ask for pages at one moment, each over a line of its own, as tablets in a workshop do."""

from __future__ import annotations

import asyncio
import statistics
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass


@dataclass(frozen=True)
class Waits:
    """How long readers waited, each from the moment on at which all of them asked. [s]"""

    seconds: tuple[float, ...]

    @property
    def least(self) -> float:
        return min(self.seconds)

    @property
    def median(self) -> float:
        return statistics.median(self.seconds)

    @property
    def most_of_them(self) -> float:
        """The 95th percentile."""
        return sorted(self.seconds)[round(0.95 * (len(self.seconds) - 1))]


def read_at_once(address: str, paths: Sequence[str], *, readers: int, cookie: str = "") -> Waits:
    """Let readers ask for pages, each for the next of those named, and fail unless every one gets it.

    Parameters
    ----------
    address : of the server, with scheme and port.
    paths : of the pages.
    readers : how many ask at the same moment.
    cookie : that each sends.
    """
    host = address.removeprefix("http://")
    waits: list[float] = []

    async def read(path: str) -> None:
        begun = time.monotonic()
        reading, writing = await asyncio.open_connection(*host.split(":"))
        writing.write(
            f"GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n".encode()
        )
        answer = await reading.read(-1)
        writing.close()
        assert answer.startswith(b"HTTP/1.1 200 "), (path, answer[:200])
        waits.append(time.monotonic() - begun)

    async def all_read() -> None:
        await asyncio.gather(*(read(paths[number % len(paths)]) for number in range(readers)))

    with ThreadPoolExecutor(1) as elsewhere:  # a browser that is driven here has a loop of its own
        elsewhere.submit(lambda: asyncio.run(all_read())).result()
    return Waits(tuple(waits))
