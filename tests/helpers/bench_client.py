"""Asks the bench's pages without a server: a request as it comes from the wire, and the whole answer."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

from optimiser.bench.app import bench_app
from optimiser.bench.bench import Bench
from optimiser.bench.doors import Doors, VisitorRole
from optimiser.bench.searches import Searches
from optimiser.report.unit_system import UnitSystem

HOST = "127.0.0.1:8421"
COOKIE = "shimwright_bench_8421"


@dataclass(frozen=True)
class Answer:
    status: int
    headers: list[tuple[str, str]]
    text: str

    def header(self, name: str) -> str:
        return next((value for found, value in self.headers if found == name), "")


class BenchClient:
    """One shop's pages, and a browser's cookie."""

    def __init__(self, shop: Path) -> None:
        self.shop = shop
        self.doors = Doors()
        self.searches = Searches(shop)
        self.bench = Bench(
            shop,
            doors=self.doors,
            searches=self.searches,
            addresses=(f"http://{HOST}",),
            units=UnitSystem.METRIC,
        )
        self.app = bench_app(self.bench, hosts={HOST, "localhost:8421"}, cookie=COOKIE)
        self.cookie = ""

    def come_in(self, role: VisitorRole = VisitorRole.WORKS) -> BenchClient:
        self.cookie = f"{COOKIE}={self.doors.swap(self.doors.new_key(role))}"
        return self

    def get(self, path: str, **headers: str) -> Answer:
        return self.ask("GET", path, headers=headers)

    def post(self, path: str, form: Mapping[str, str], **headers: str) -> Answer:
        own = {"content-type": "application/x-www-form-urlencoded", "sec-fetch-site": "same-origin"}
        return self.ask("POST", path, headers=own | headers, body=[urlencode(form).encode()])

    def followed(self, path: str, form: Mapping[str, str]) -> Answer:
        """Send a form and look at the page that it goes on to."""
        sent = self.post(path, form)
        assert sent.status == 303, sent.text
        return self.get(sent.header("location").partition("#")[0])

    def ask(
        self,
        method: str,
        target: str,
        *,
        headers: Mapping[str, str] | Sequence[tuple[str, str]] = (),
        body: Sequence[bytes] = (b"",),
        host: str = HOST,
        wait: float = 0.0,
    ) -> Answer:
        """One request; ``wait`` is how long each part of its body takes to come. [s]"""
        given = list(headers.items()) if isinstance(headers, Mapping) else list(headers)
        names = [("host", host), *([("cookie", self.cookie)] if self.cookie else []), *given]
        path, _, query = target.partition("?")
        scope: dict[str, Any] = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": path,
            "raw_path": quote(path, safe="/%").encode(),
            "query_string": query.encode("utf-8", errors="surrogatepass"),
            "root_path": "",
            "headers": [
                (name.replace("_", "-").lower().encode("latin-1"), value.encode("latin-1", errors="replace"))
                for name, value in names
            ],
            "client": ("127.0.0.1", 4444),
            "server": ("127.0.0.1", 8421),
        }
        parts, sent = list(body), []

        async def receive() -> dict[str, Any]:
            if wait:
                await asyncio.sleep(wait)
            part = parts.pop(0) if parts else b""
            return {"type": "http.request", "body": part, "more_body": bool(parts)}

        async def send(message: Any) -> None:
            sent.append(message)

        asyncio.run(self.app(scope, receive, send))  # type: ignore[arg-type]
        start = next(message for message in sent if message["type"] == "http.response.start")
        text = b"".join(m.get("body", b"") for m in sent if m["type"] == "http.response.body")
        return Answer(
            start["status"],
            [(name.decode().lower(), value.decode("latin-1")) for name, value in start["headers"]],
            text.decode("utf-8", errors="replace"),
        )
