"""Pages that many read: made once for all of them, and again as soon as something has changed."""

from __future__ import annotations

import asyncio
import os
import re
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from optimiser.bench.access import FRESH
from optimiser.bench.doors import VisitorRole
from optimiser.bench.fingerprint import fingerprint_of_all, fingerprint_of_inputs
from optimiser.bench.kept_pages import MOVES, KeptPages
from tests.helpers.bench_client import BenchClient


class _Counting:
    """Pages that number their answers."""

    def __init__(self, *, status: int = 200, moves: bool = False) -> None:
        self.made = 0
        self._status, self._moves = status, moves

    async def __call__(self, scope: Any, _receive: Any, send: Any) -> None:
        self.made += 1
        if self._moves:
            scope[MOVES] = True
        await asyncio.sleep(0.01)
        await send({"type": "http.response.start", "status": self._status, "headers": []})
        await send({"type": "http.response.body", "body": str(self.made).encode()})


def _asked(pages: KeptPages, *, readers: int = 1, path: str = "/") -> list[bytes]:
    async def one() -> bytes:
        sent: list[Any] = []

        async def send(message: Any) -> None:
            sent.append(message)

        await pages({"method": "GET", "path": path, "query_string": b""}, None, send)
        return b"".join(message.get("body", b"") for message in sent)

    async def every_one() -> list[bytes]:
        return list(await asyncio.gather(*(one() for _ in range(readers))))

    return asyncio.run(every_one())


def test_two_hundred_at_once_see_one_page_that_was_made_once() -> None:
    counting = _Counting()
    assert set(_asked(KeptPages(counting, fingerprint=lambda: 1, fresh=0.0), readers=200)) == {b"1"}
    assert counting.made == 1


def test_a_page_is_made_again_when_something_has_changed_and_not_before() -> None:
    now = {"print": 1}
    pages = KeptPages(_Counting(), fingerprint=lambda: now["print"], fresh=0.0)
    assert [_asked(pages)[0] for _ in range(3)] == [b"1", b"1", b"1"]
    now["print"] = 2
    assert _asked(pages) == [b"2"]


@pytest.mark.parametrize("how", [{"moves": True}, {"status": 500}, {"status": 404}])
def test_what_goes_on_or_went_wrong_is_not_kept(how: dict[str, Any]) -> None:
    pages = KeptPages(_Counting(**how), fingerprint=lambda: 1, fresh=0.0)
    assert [_asked(pages)[0] for _ in range(3)] == [b"1", b"2", b"3"]


def test_a_guest_sees_the_page_about_a_fault_as_others_do(
    worker: BenchClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr(worker.bench, "jobs", broken)
    page = worker.come_in(VisitorRole.LOOKS_ON).get("/")
    assert page.status == 500
    assert "A fault in shimwright, and not in your files." in page.text
    assert "RuntimeError" not in page.text


def test_a_guest_sees_what_came_to_the_shelf_within_a_second(worker: BenchClient) -> None:
    worker.post("/stock/begin", {"shelf": "shelf.csv"})
    mine = worker.cookie
    guest = worker.come_in(VisitorRole.LOOKS_ON).cookie

    def free() -> str:
        worker.cookie = guest
        page = worker.get("/stock").text
        return page.partition("20x0.10")[2].partition("<b>")[2].partition("<")[0]

    before = int(free())
    worker.cookie = mine
    worker.post("/stock/move", {"do": "receive", "kind": "20x0.10", "number": "3"})
    time.sleep(FRESH[VisitorRole.LOOKS_ON] + 0.05)
    assert int(free()) == before + 3


def test_who_works_sees_each_step_at_once_and_no_two_forms_bear_one_number(worker: BenchClient) -> None:
    worker.post("/stock/begin", {"shelf": "shelf.csv"})
    numbers = set()
    for count in range(5, 12):
        worker.post("/stock/move", {"do": "count", "kind": "20x0.10", "number": str(count)})
        for path in ("/stock", "/stock?note=none"):
            page = worker.get(path).text
            assert page.partition('<th scope="row">20x0.10<')[2].partition("<b>")[2].startswith(f"{count}<")
            found = re.search(r'name="once" value="(\w+)"', page)
            assert found is not None
            numbers.add(found[1])
    assert len(numbers) == 14


def test_a_key_that_one_guest_enters_lets_no_other_in(worker: BenchClient) -> None:
    """An answer to a form is nobody else's, least of all one that sets a cookie."""
    keys = [worker.doors.new_key(VisitorRole.WORKS), "not a key"]
    worker.come_in(VisitorRole.LOOKS_ON)
    sent = [worker.post("/enter", {"key": key}) for key in keys]
    assert [one.status for one in sent] == [303, 403]
    assert sent[1].header("set-cookie") == ""


def test_the_fingerprint_changes_with_every_file_but_how_far_a_search_is(tmp_path: Path) -> None:
    (tmp_path / "jobs").mkdir()
    (tmp_path / "searches" / "one").mkdir(parents=True)
    seen = [fingerprint_of_all(tmp_path)]
    inputs = [fingerprint_of_inputs(tmp_path)]
    for name in ("shimwright.ledger", "jobs/one.toml", "searches/one/plan.json", "searches/one/progress.txt"):
        (tmp_path / name).write_text("x", encoding="utf-8")
        seen.append(fingerprint_of_all(tmp_path))
        inputs.append(fingerprint_of_inputs(tmp_path))
    assert [one != other for one, other in pairwise(seen)] == [True, True, True, False]
    assert [one != other for one, other in pairwise(inputs)] == [
        True,
        True,
        False,
        False,
    ]
    later = time.time_ns() + 10**9
    os.utime(tmp_path / "jobs" / "one.toml", ns=(later, later))
    assert fingerprint_of_all(tmp_path) != seen[-1]
