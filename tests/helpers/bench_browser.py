"""The bench as a process of its own, and a browser that works it as a tuner does."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from tests.helpers import headless_chromium
from tests.helpers.paths import ROOT

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

PATIENCE = 120
"""For how long a busy machine may keep a page waiting before that is a failure. [s]"""

chromium = headless_chromium.chromium


@dataclass
class Served:
    """A bench that is served."""

    shop: Path
    process: subprocess.Popen[str]
    way_in: str

    @property
    def address(self) -> str:
        return self.way_in.partition("/enter/")[0]

    @property
    def key(self) -> str:
        return self.way_in.partition("/enter/")[2]

    def enter(self) -> str:
        """Swap the key without a browser; the cookie."""
        return self._post("/enter", "", {"key": self.key})[0].partition(";")[0]

    def read(self, path: str, cookie: str) -> str:
        """A page without a browser, whether it was refused or not."""
        line = http.client.HTTPConnection(self.address.removeprefix("http://"), timeout=60)
        line.request("GET", path, headers={"Cookie": cookie})
        text = line.getresponse().read().decode("utf-8")
        line.close()
        return text

    def send(self, path: str, cookie: str, **form: str) -> None:
        """Send a form without a browser."""
        self._post(path, cookie, form)

    def key_for(self, cookie: str, *, role: str) -> str:
        """A new key for somebody else, as the page shows it."""
        found = re.search(r"/enter/([\w-]+)", self._post("/doors/key", cookie, {"role": role})[1])
        assert found is not None
        return found[1]

    def _post(self, path: str, cookie: str, form: dict[str, str]) -> tuple[str, str]:
        """The cookie that is set, and the page."""
        line = http.client.HTTPConnection(self.address.removeprefix("http://"), timeout=10)
        headers = {
            "Origin": self.address,
            "Content-Type": "application/x-www-form-urlencoded",
            "Cookie": cookie,
        }
        line.request("POST", path, body=urlencode(form), headers=headers)
        answer = line.getresponse()
        text = answer.read().decode("utf-8")
        line.close()
        assert answer.status in {200, 303}, text
        return str(answer.getheader("set-cookie")), text

    def end(self, how: int = signal.SIGINT) -> None:
        if self.process.poll() is None:
            self.process.send_signal(how)
        self.process.wait(timeout=20)


@contextmanager
def served(shop: Path) -> Iterator[Served]:
    """Serve a shop at any free port until the block ends."""
    process = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "from optimiser.cli import main; main()",
            "bench",
            "--port",
            "0",
            "--shop",
            str(shop),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        cwd=ROOT,
        env=os.environ | {"PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    said = ""
    while "Ctrl-C" not in said:
        line = process.stdout.readline()
        assert line, said
        said += line
    found = re.search(r"http://\S+", said)
    assert found is not None
    one = Served(shop, process, found[0])
    try:
        yield one
    finally:
        one.end(signal.SIGKILL)
        process.stdout.close()


@dataclass
class Watched:
    """A page in a browser, with whatever it complained of and asked for."""

    page: Page
    base: str
    complaints: list[str] = field(default_factory=list)
    asked: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, context: BrowserContext, base: str) -> Watched:
        context.set_default_timeout(1000 * PATIENCE)
        watched = cls(context.new_page(), base)
        watched.page.on(
            "console",
            lambda one: watched.complaints.append(f"{one.type}: {one.text}") if one.type == "error" else None,
        )
        watched.page.on("pageerror", lambda one: watched.complaints.append(str(one)))
        watched.page.on("request", lambda one: watched.asked.add(one.url))
        return watched

    def go(self, path: str) -> None:
        self.page.goto(f"{self.base}{path}")

    def search(self, job: str, *, seconds: int = 150) -> None:
        """Search for a job and wait for its answer."""
        self.go(f"/jobs/{job}")
        self.page.get_by_role("button", name="Search for the fewest changes").click()
        self.page.get_by_role("link", name="The answer").wait_for(timeout=1000 * seconds)

    def leaves_the_machine(self) -> list[str]:
        return [url for url in self.asked if not url.startswith((self.base, "data:", "blob:"))]


def come_in(context: BrowserContext, bench: Served) -> Watched:
    """A browser that has used the key of a bench."""
    watched = Watched.of(context, bench.address)
    watched.page.goto(bench.way_in)
    watched.page.get_by_role("button", name="Open the bench").click()
    watched.page.get_by_role("heading", name="The day").wait_for()
    return watched
