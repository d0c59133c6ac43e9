"""Requests made to break in or to break down: each is refused with a code from 400 to 499, and nothing changes."""

from __future__ import annotations

import random
import socket
from pathlib import Path

from optimiser.bench.bodies import PATIENCE
from optimiser.bench.refusals import FORM
from tests.helpers.bench_browser import served
from tests.helpers.bench_client import HOST, BenchClient
from tests.helpers.counts import thorough_only, tries
from tests.helpers.ledger_shop import files_of

PATHS = (
    "/", "/stock", "/stock/move", "/stock/begin", "/record/undo", "/counter/new", "/counter/x/answer", "/enter",
    "/enter/x", "/jobs/a_more_support", "/jobs/a_more_support/goal", "/jobs/a_more_support/search",
    "/jobs/a_more_support/build", "/jobs/a_more_support/done", "/jobs/a_more_support/sheet/1", "/doors/key",
    "/dampers/tarn_shock", "/jobs/a_more_support/what-if", "/jobs/a_more_support/now",
    "/jobs/a_more_support/reach", "/jobs/a_more_support/reach/ask", "/jobs/a_more_support/reach/now",
    "/jobs/a_more_support/buy", "/jobs/a_more_support/buy/ask", "/share-out", "/share-out/reserve",
    "/dampers/tarn_shock/runs", "/dampers/tarn_shock/runs/bring", "/dampers/tarn_shock/fit",
    "/dampers/tarn_shock/fit/ask", "/dampers/tarn_shock/fit/keep", "/jobs/a_more_support/measured",
    "/jobs/a_more_support/measured/compare", "/jobs/a_more_support/measured/forget",
)  # fmt: skip
PIECES = (
    "..", "%2e%2e%2f", "\\..\\", "\0", "\r\nset-cookie: a=b", "<script>", "'; DROP TABLE job; --", "{{7*7}}", "${7*7}",
    "%", "%ff", "\u202e", "😀", "a" * 300, "//", "/etc/passwd", "file:///etc/passwd", "NaN", "1e309", "-1", "0x10", "١",
)  # fmt: skip
FIELDS = (
    "shelf", "do", "kind", "number", "step", "name", "key", "answer", "pick", "seconds", "role", "once", "reason",
    "target0-name", "target0-low", "changes", "verdict", "words", "bent0", "hole", "confidence",
    "catalogue", "types", "picks", "files", "even so",
)  # fmt: skip


def _hostile(draw: random.Random, client: BenchClient) -> tuple[int, str]:
    """One request that no page of ours sends, and what it was."""
    path = draw.choice(PATHS)
    kind = draw.randrange(8)
    headers = {"content-type": "application/x-www-form-urlencoded", "sec-fetch-site": "same-origin"}
    form = "&".join(f"{draw.choice(FIELDS)}{n}={draw.choice(PIECES)}" for n in range(draw.randrange(5)))
    body = form.encode("utf-8")
    host, method, cookie = HOST, "POST", client.cookie
    if kind == 0:
        host = draw.choice(
            ["evil.example", "127.0.0.1.evil.example:8421", "[::1]:8421", HOST + "\t", "127.0.0.1:1"]
        )
        method = draw.choice(["GET", "POST"])
    elif kind == 1:
        headers |= draw.choice(
            [
                {"sec-fetch-site": "cross-site"},
                {"sec-fetch-site": "same-site"},
                {"origin": "http://evil.example"},
            ]
        )
    elif kind == 2:
        path, method = path + "/" + draw.choice(PIECES[:16]) + "/" + draw.choice(PIECES[:16]), "GET"
    elif kind == 3:
        method = draw.choice(["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "get", "PROPFIND"])
    elif kind == 4:
        headers["content-type"] = draw.choice(
            ["application/json", "multipart/form-data; boundary=a", "text/plain", ""]
        )
    elif kind == 5:
        body = draw.choice(
            [b"x" * 70_000, b"a=1&a=1", b"\xff\xfe=1", b"&".join(b"%d=1" % n for n in range(400)), b"k=%00"]
        )
    elif kind == 6:
        client.cookie = draw.choice(
            ["", "shimwright_bench_8421=guess", "shimwright_bench_80=x", "=;;;", "a=b; a=b"]
        )
        path = draw.choice([one for one in PATHS if not one.startswith("/enter")])
    else:
        path += "?" + draw.choice(PIECES) * draw.randrange(400, 5000)
    try:
        answer = client.ask(method, path, headers=headers, body=[body], host=host)
    finally:
        client.cookie = cookie
    assert "Traceback" not in answer.text, path
    return answer.status, f"{method} {path[:80]} {headers} {body[:60]!r} from {host}"


def test_hostile_requests_are_refused_and_nothing_changes(shop: Path) -> None:
    client = BenchClient(shop).come_in()
    before = files_of(shop)
    draw = random.Random(24)
    for _ in range(tries(quick=120, thorough=2000)):
        status, what = _hostile(draw, client)
        assert 400 <= status < 500, f"{status}: {what}"
    assert files_of(shop) == before


@thorough_only("a server is begun")
def test_what_is_no_request_at_all_ends_its_connection_and_not_the_server(shop: Path) -> None:
    draw = random.Random(3)
    with served(shop) as bench:
        host, _, port = bench.address.removeprefix("http://").partition(":")
        sent = [
            b"garbage\r\n\r\n",
            b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
            b"GET / HTTP/9.9\r\n\r\n",
            b"POST /enter HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\nContent-Length: 8\r\n\r\n",
            b"GET /" + b"a" * 70_000 + b" HTTP/1.1\r\n\r\n",
            b"GET / HTTP/1.1\r\nX: " + b"a" * 70_000 + b"\r\n\r\n",
            *(draw.randbytes(draw.randrange(1, 400)) + b"\r\n\r\n" for _ in range(40)),
        ]
        for piece in sent:
            with socket.create_connection((host, int(port)), timeout=5) as line:
                line.sendall(piece)
                line.shutdown(socket.SHUT_WR)
                said = line.recv(100)
            assert not said or said.startswith(b"HTTP/1.1 4"), (piece[:60], said)
        slow = f"POST /enter HTTP/1.1\r\nHost: {host}:{port}\r\nOrigin: {bench.address}\r\nContent-Type: {FORM}\r\nContent-Length: 50\r\n\r\nk"
        with socket.create_connection((host, int(port)), timeout=PATIENCE + 10) as line:
            line.sendall(slow.encode())
            assert line.recv(100).startswith(b"HTTP/1.1 408"), "a body that does not come is not waited for"
        assert bench.enter().startswith("shimwright_bench_"), "the server still serves"


def test_forms_with_odd_fields_are_refused_by_the_pages_themselves(shop: Path) -> None:
    client = BenchClient(shop).come_in()
    before = files_of(shop)
    draw = random.Random(7)
    for _ in range(tries(quick=60, thorough=600)):
        path = draw.choice(
            [one for one in PATHS if one != "/jobs/a_more_support/search" and not one.startswith("/enter")]
        )
        form = {draw.choice(FIELDS): draw.choice(PIECES[4:]) for _ in range(draw.randrange(6))}
        answer = client.post(path, form)
        assert answer.status in {303, *range(400, 500)}, (answer.status, path, form)
        assert "Traceback" not in answer.text
    left = {name: text for name, text in files_of(shop).items() if not name.endswith(".answers")}
    assert left == before
