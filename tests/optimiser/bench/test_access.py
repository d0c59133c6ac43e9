"""Who comes in, what is refused before any page sees it, and what every answer carries."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from optimiser.bench import bodies
from optimiser.bench.access import FENCE
from optimiser.bench.doors import KEY_LIFE, SESSION_LIFE, Doors, VisitorRole
from tests.helpers.bench_client import COOKIE, HOST, BenchClient
from tests.helpers.ledger_shop import files_of


def test_a_key_opens_once_and_is_swapped_for_a_cookie_that_scripts_cannot_read(shop: Path) -> None:
    client = BenchClient(shop)
    key = client.doors.new_key(VisitorRole.WORKS)
    assert client.get("/").status == 401
    looked = client.get(f"/enter/{key}")
    assert looked.status == 200, "looking at the address uses nothing up"
    entered = client.post("/enter", {"key": key})
    assert entered.status == 303
    cookie = entered.header("set-cookie")
    assert cookie.startswith(f"{COOKIE}="), (
        "its name holds the port, since browsers share cookies among ports"
    )
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    assert client.post("/enter", {"key": key}).status == 403
    client.cookie = cookie.partition(";")[0]
    assert client.get("/").status == 200


def test_keys_and_sessions_end_with_their_time() -> None:
    moment = itertools.count(0.0, 0.0)
    times = [0.0]
    doors = Doors(clock=lambda: times[0] + next(moment))
    late = doors.new_key(VisitorRole.WORKS)
    times[0] = KEY_LIFE + 1
    assert doors.swap(late) is None
    session = doors.swap(doors.new_key(VisitorRole.LOOKS_ON))
    assert doors.role_of(session) is VisitorRole.LOOKS_ON
    times[0] += SESSION_LIFE + 1
    assert doors.role_of(session) is None
    assert doors.role_of("no session") is None


def test_a_guest_sees_every_page_and_changes_nothing(shop: Path) -> None:
    guest = BenchClient(shop).come_in(VisitorRole.LOOKS_ON)
    before = files_of(shop)
    for path in (
        "/",
        "/stock",
        "/record",
        "/doors",
        "/counter",
        "/jobs/a_more_support",
        "/jobs/a_more_support/reach",
        "/jobs/a_more_support/buy",
        "/share-out",
        "/dampers/tarn_shock/fit",
    ):
        page = guest.get(path)
        assert page.status == 200, path
        assert '<form method="post"' not in page.text, path
    for path, form in (
        ("/stock/begin", {"shelf": "shelf.csv"}),
        ("/counter/new", {"name": "mine"}),
        ("/jobs/a_more_support/search", {"seconds": "5"}),
        ("/jobs/a_more_support/reach/ask", {"changes": "0", "seconds": "5"}),
        ("/jobs/a_more_support/buy/ask", {"catalogue": "catalogue.csv", "types": "1", "seconds": "5"}),
        ("/share-out/reserve", {"picks": ""}),
        ("/dampers/tarn_shock/fit/ask", {"files": "tarn_peaks.csv"}),
        ("/dampers/tarn_shock/fit/forget", {}),
        ("/doors/key", {"role": "works"}),
    ):
        assert guest.post(path, form).status == 403, path
    assert files_of(shop) == before


def test_a_session_that_was_left_opens_nothing_any_more(worker: BenchClient) -> None:
    assert worker.post("/doors/leave", {}).status == 200
    assert worker.get("/").status == 401


@pytest.mark.parametrize(
    "host", ["evil.example:8421", "127.0.0.1", "127.0.0.1:80", "", HOST + ".evil.example"]
)
def test_a_name_that_is_not_on_the_list_is_refused_even_with_a_session(
    worker: BenchClient, host: str
) -> None:
    assert worker.ask("GET", "/", host=host).status == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "same-origin", "origin": "http://evil.example"},
        {"sec-fetch-site": "", "origin": "null"},
        {"sec-fetch-site": "none", "origin": f"https://{HOST}"},
    ],
)
def test_a_form_from_another_page_is_refused(worker: BenchClient, headers: dict[str, str]) -> None:
    assert worker.post("/stock/begin", {"shelf": "shelf.csv"}, **headers).status == 403
    assert not (worker.shop / "shimwright.ledger").exists()


def test_a_browser_that_tells_no_site_is_known_by_its_origin(worker: BenchClient) -> None:
    form = {"content-type": "application/x-www-form-urlencoded", "origin": f"http://{HOST}"}
    sent = worker.ask("POST", "/stock/begin", headers=form, body=[b"shelf=shelf.csv"])
    assert sent.status == 303


def test_state_changes_on_no_look(worker: BenchClient) -> None:
    before = files_of(worker.shop)
    for path in (
        "/stock/begin?shelf=shelf.csv",
        "/stock/move",
        "/jobs/a_more_support/search",
        "/jobs/a_more_support/reach/ask?changes=1&seconds=5",
        "/jobs/a_more_support/buy/ask",
        "/share-out/reserve",
        "/dampers/tarn_shock/fit/ask?files=tarn_peaks.csv",
        "/dampers/tarn_shock/fit/forget",
        "/dampers/tarn_shock/runs/bring",
        "/record/undo",
    ):
        assert worker.get(path).status in {404, 405}, path
    for path in ("/", "/stock", "/dampers/tarn_shock", "/jobs/a_more_support", "/counter/none", "/doors"):
        worker.get(path)
    assert files_of(worker.shop) == before


def test_a_body_that_is_large_slow_odd_or_no_form_is_refused(
    worker: BenchClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = {"content-type": "application/x-www-form-urlencoded", "sec-fetch-site": "same-origin"}

    def sent(*body: bytes, wait: float = 0.0, **more: str) -> int:
        return worker.ask("POST", "/stock/move", headers=form | more, body=body, wait=wait).status

    assert sent(b"x" * (bodies.LARGEST + 1)) == 413
    assert sent(*[b"x" * 1000] * 70) == 413, "it counts what comes, whatever was said"
    assert sent(b"", content_length="99999999") == 413
    assert sent(b"", content_length="-1") == 400
    assert sent(b"a=1&a=2") == 400
    assert sent(b"a=%00") == 400
    assert sent(b"a=\xff") == 400
    assert sent("&".join(f"a{n}=1" for n in range(300)).encode()) == 400
    assert (
        worker.ask("POST", "/stock/move", headers=form | {"content-type": "application/json"}).status == 415
    )
    monkeypatch.setattr(bodies, "PATIENCE", 0.05)
    monkeypatch.setattr(bodies.read_form, "__kwdefaults__", {"patience": 0.05})
    assert sent(*[b"a"] * 9, wait=0.02) == 408


def test_every_answer_is_fenced(worker: BenchClient) -> None:
    for path, status in (("/", 200), ("/nowhere", 404), ("/bench.css", 200), ("/jobs/none", 404)):
        answer = worker.get(path)
        assert answer.status == status
        assert {name for name, _ in answer.headers} >= set(FENCE), path
        policy = answer.header("content-security-policy")
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
    assert worker.ask("GET", "/", host="evil.example").header("x-frame-options") == "DENY"


@pytest.mark.parametrize(
    "path",
    [
        "/jobs/..%2f..%2fetc%2fpasswd", "/jobs/../../etc/passwd", "/jobs/%2e%2e", "/jobs/a_more_support/sheet/../../x",
        "/dampers/..", "/counter/..%5c..", "//etc/passwd", "/jobs/a_more_support/sheet/1e9", "/jobs/\0", "/<script>",
    ],
)  # fmt: skip
def test_a_path_out_of_the_folder_leads_nowhere(worker: BenchClient, path: str) -> None:
    assert worker.get(path).status in {404, 422}


def test_markup_in_a_name_stays_text(worker: BenchClient) -> None:
    place = worker.shop / "jobs" / "a_more_support.toml"
    text = place.read_text(encoding="utf-8")
    nasty = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    place.write_text(
        text.replace('title = "Trail bike: sinks when she leans on the pedals"', f"title = '{nasty}'")
    )
    for path in ("/", "/jobs/a_more_support", "/jobs/a_more_support/what-if"):
        page = worker.get(path).text
        assert "<img" not in page
        assert "alert(2)</script>" not in page
        assert "&lt;img" in page
