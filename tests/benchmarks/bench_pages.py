"""The local page: how long two hundred readers wait, with and without a search, and how soon what if answers.

Run from the project's folder: ``python -m tests.benchmarks.bench_pages [--readers N] [--rounds N]``.

Beside every figure stands the same measured on a server of one page that is always the same, with the same
readers on the same machine in the same minute: what other work on the machine does to one it does to both.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Final

import psutil

from optimiser.bench.search_folder import SearchFolder
from optimiser.bench.work_folder import SearchState
from optimiser.files.demo_shop import lay_out
from tests.helpers.bench_browser import Served, served
from tests.helpers.many_readers import Waits, read_at_once
from tests.helpers.paths import ROOT

PLANNED: Final = "b_clicks_do"
SEARCHED: Final = "a_long_search"
PLAIN: Final = ("/", "/stock", "/record", "/dampers", "/doors", "/counter")
"""Pages on which no physics runs."""

READ: Final = ("/", "/stock", "/record", "/dampers", f"/jobs/{PLANNED}/answer")
"""What readers look at."""

STATIC_SIZE: Final = 20_000
"""Letters of the page that is always the same, about as many as a page of the shop has. [bytes]"""

_STATIC: Final = f"""
import socket, uvicorn
PAGE = b"x" * {STATIC_SIZE}
async def app(scope, receive, send):
    await send({{"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"{STATIC_SIZE}")]}})
    await send({{"type": "http.response.body", "body": PAGE}})
one = socket.socket()
one.bind(("127.0.0.1", 0))
one.listen(512)
print(one.getsockname()[1], flush=True)
uvicorn.Server(uvicorn.Config(app, lifespan="off", log_level="warning", access_log=False)).run([one])
"""


@contextmanager
def static_page() -> Iterator[str]:
    """The address of a server of one page that is always the same."""
    process = subprocess.Popen([sys.executable, "-c", _STATIC], stdout=subprocess.PIPE, text=True, cwd=ROOT)
    assert process.stdout is not None
    try:
        yield f"http://127.0.0.1:{process.stdout.readline().strip()}"
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


def of_rounds(
    address: str, paths: tuple[str, ...], *, readers: int, rounds: int, cookie: str = "", between: float = 0.0
) -> Waits:
    """The waits of several rounds of readers together."""
    found: list[float] = []
    for _ in range(rounds):
        found += read_at_once(address, paths, readers=readers, cookie=cookie).seconds
        time.sleep(between)
    return Waits(tuple(found))


def row(words: str, waits: Waits, base: Waits) -> str:
    """One line of the table."""
    times = "".join(f"{1000 * one:9.1f}" for one in (waits.least, waits.median, waits.most_of_them))
    return f"{words:44}{times}{waits.median / base.median:10.1f}"


def readers_table(bench: Served, cookie: str, static: str, *, readers: int, rounds: int, words: str) -> None:
    """What many readers wait for, the server's processor time for it, and the page that is always the same."""
    server = psutil.Process(bench.process.pid)
    base = of_rounds(static, ("/",), readers=readers, rounds=rounds, between=0.5)
    before = server.cpu_times()
    waits = of_rounds(bench.address, READ, readers=readers, rounds=rounds, cookie=cookie, between=0.5)
    after = server.cpu_times()
    spent = after.user + after.system - before.user - before.system
    print(row(f"{readers} {words}", waits, base))
    print(row("  the page that is always the same", base, base))
    print(
        f"  the server's processor time, each reader {1000 * spent / (readers * rounds):8.2f} ms", flush=True
    )


def one_by_one(bench: Served, worker: str, static: str, *, words: str) -> None:
    """Pages by themselves, each asked with something that was not asked before, so that it is made and not kept."""
    base = of_rounds(static, ("/",), readers=1, rounds=30)
    job = f"/jobs/{PLANNED}"
    tried = [
        f"{job}/what-if?part=answer&try=out+{shim}&click+low-speed+compression={at}"
        for shim in ("20x0.10", "19x0.10", "18x0.10")
        for at in range(12)
    ]
    for called, paths in (
        *(
            (path, [f"{path}?anew={number}-{words}" for number in range(20)])
            for path in (*PLAIN, f"{job}/answer")
        ),
        ("what if, one shim out and a click", [f"{path}&anew={words}" for path in tried]),
    ):
        waits = [read_at_once(bench.address, (path,), readers=1, cookie=worker).seconds[0] for path in paths]
        print(row(f"{called}, {words}", Waits(tuple(waits)), base), flush=True)


def wait_for(bench: Served, job: str) -> None:
    """Wait until a job's search has ended."""
    folder = SearchFolder(bench.shop, job)
    while folder.state is SearchState.WAITING:
        time.sleep(0.2)


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--readers", type=int, default=200, help="who ask at the same moment")
    parser.add_argument("--rounds", type=int, default=10, help="how often they do")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        lay_out(shop)
        out_of_reach = (shop / "jobs" / "d_out_of_reach.toml").read_text(encoding="utf-8")
        (shop / "jobs" / f"{SEARCHED}.toml").write_text(
            out_of_reach.replace("most_changes = 1", "most_changes = 4"), encoding="utf-8"
        )
        with served(shop) as bench, static_page() as static:
            worker = bench.enter()
            bench.send("/stock/begin", worker, shelf="shelf.csv")
            bench.send(f"/jobs/{PLANNED}/search", worker, seconds="120")
            wait_for(bench, PLANNED)
            key = bench.key_for(worker, role="looks on")
            guest = replace(bench, way_in=f"{bench.address}/enter/{key}").enter()
            print(f"{'[ms]':44}{'least':>9}{'median':>9}{'95 %':>9}{'x static':>10}")
            for searching in (False, True):
                words = "one search running" if searching else "no search"
                if searching:
                    bench.send(f"/jobs/{SEARCHED}/search", worker, seconds="3600")
                    time.sleep(5)
                for who, cookie in (("guests", guest), ("who work there", worker)):
                    readers_table(
                        bench,
                        cookie,
                        static,
                        readers=asked.readers,
                        rounds=asked.rounds,
                        words=f"{who}, {words}",
                    )
                one_by_one(bench, worker, static, words="searching" if searching else "alone")
                ended = SearchFolder(shop, SEARCHED).state is not SearchState.WAITING
                assert not (searching and ended), "the search ended before the last reader had asked"
    return 0


if __name__ == "__main__":
    sys.exit(main())
