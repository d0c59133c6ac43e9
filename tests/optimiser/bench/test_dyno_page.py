"""Dyno runs in the browser: a file is brought whole or refused, what is derived is shown and can be put right."""

from __future__ import annotations

import random
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote_plus

import pytest

from optimiser.bench import uploads
from optimiser.bench.doors import VisitorRole
from optimiser.bench.uploads import LARGEST_UPLOAD
from tests.helpers.bench_client import Answer, BenchClient
from tests.helpers.counts import tries
from tests.helpers.ledger_shop import files_of

RUNS = "/dampers/tarn_shock/runs"
EDGE = "----shimwrighttest"


def _form(data: bytes, name: str = "run.csv") -> bytes:
    head = f'--{EDGE}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n'
    return head.encode() + b"Content-Type: text/csv\r\n\r\n" + data + f"\r\n--{EDGE}--\r\n".encode()


def _bring(
    client: BenchClient, *body: bytes, wait: float = 0.0, more: Mapping[str, str] | None = None
) -> Answer:
    headers = {"content-type": f"multipart/form-data; boundary={EDGE}", "sec-fetch-site": "same-origin"}
    return client.ask("POST", f"{RUNS}/bring", headers=headers | dict(more or {}), body=body, wait=wait)


def _read(client: BenchClient, **asked: str) -> str:
    query = "&".join(f"{quote_plus(key)}={quote_plus(value)}" for key, value in asked.items())
    return client.get(f"{RUNS}?file=tarn_sine.csv&{query}").text.replace("&#39;", "'")


def test_what_the_command_derives_is_shown_with_points_and_the_model_s_curves(worker: BenchClient) -> None:
    page = worker.get(f"{RUNS}?file=tarn_peaks.csv&file=tarn_sine.csv").text.replace("&#39;", "'")
    assert "The file claims 800 a second; the time column is believed." in page
    assert "Force times velocity is negative, but a damper takes power" in page
    assert "lines 7 to 964 of dyno/tarn_sine.csv" in page
    assert 'class="measured"' in page
    assert "its file, low-speed compression 4 out, rebound 12 out" in page
    assert str(worker.shop) not in page


def test_what_is_typed_goes_before_what_is_derived(worker: BenchClient) -> None:
    assert "rebound 7 out" in _read(worker)
    typed = {"click rebound": "3", "temperature": "55 C", "warm-up": "3", "gas force": "120 N"}
    page = _read(worker, **typed)
    assert "rebound 3 out" in page
    assert "55 °C" in page
    assert "the first 3 cycles are dropped" in page
    for value in typed.values():
        assert f'value="{value}"' in page, "what was typed is still there"
    assert "force=Force (N):kgf" in _read(worker, columns="force=Force (N):kgf")


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("temperature", "warm"), ("temperature", "40"), ("click rebound", "99"), ("sample rate", "nan"),
        ("warm-up", "\u0661"), ("compression", "up"), ("columns", "force"), ("stroke", "5 kg"), ("machine", "none"),
        ("gas pressure", "x" * 41),
    ],
)  # fmt: skip
def test_an_odd_figure_is_told_beside_the_form(worker: BenchClient, field: str, text: str) -> None:
    page = _read(worker, **{field: text})
    assert 'role="alert"' in page
    assert "What was measured" not in page


def test_a_file_arrives_as_it_was_and_takes_no_other_s_place(worker: BenchClient) -> None:
    data = (worker.shop / "dyno" / "tarn_sine.csv").read_bytes().replace(b"\n", b"\r\n")
    sent = _bring(worker, _form(data, "after wash.csv"))
    assert sent.status == 303
    page = worker.get(sent.header("location")).text
    assert "dyno/after wash.csv is in the shop" in page
    assert "What was measured" in page, "it is read at once"
    assert (worker.shop / "dyno" / "after wash.csv").read_bytes() == data
    again = worker.get(_bring(worker, _form(data, "after wash.csv")).header("location")).text
    assert "was there already" in again
    _bring(worker, _form(data + b"9", "after wash.csv"))
    assert (worker.shop / "dyno" / "after wash-2.csv").read_bytes() == data + b"9"
    assert (worker.shop / "dyno" / "after wash.csv").read_bytes() == data


def test_bytes_of_any_kind_arrive_unchanged(worker: BenchClient) -> None:
    draw = random.Random(5)
    for number in range(tries(quick=6, thorough=200)):
        data = draw.randbytes(draw.randrange(1, 3000)) + b"x"
        _bring(worker, _form(data, f"n{number}.csv"))
        assert (worker.shop / "dyno" / f"n{number}.csv").read_bytes() == data


@pytest.mark.parametrize(
    "name",
    ["../../etc/passwd", "..\\..\\x.csv", "<script>.csv", "", "....", "a" * 300, "CON.csv", "\u202e.csv"],
)
def test_a_name_that_leads_elsewhere_stays_in_the_folder(worker: BenchClient, name: str) -> None:
    outside = set(worker.shop.parent.rglob("*"))
    before = files_of(worker.shop)
    assert _bring(worker, _form(b"1,2\n", name)).status == 303
    new = set(files_of(worker.shop)) - set(before)
    assert len(new) == 1
    assert next(iter(new)).startswith("dyno/")
    assert next(iter(new)).endswith(".csv")
    added = {path for path in set(worker.shop.parent.rglob("*")) - outside if path.is_file()}
    assert {path.parent.name for path in added} == {"dyno"}


def test_a_file_that_is_large_slow_broken_or_none_is_refused(
    worker: BenchClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = files_of(worker.shop)
    assert _bring(worker, _form(b"x" * LARGEST_UPLOAD)).status == 413
    assert _bring(worker, b"", more={"content-length": "99999999"}).status == 413
    assert _bring(worker, *[b"x" * 500_000] * 11).status == 413, "it counts what comes, whatever was said"
    assert _bring(worker, b"rubbish").status == 400
    assert _bring(worker, _form(b"1")[:-12]).status == 400
    assert _bring(worker, _form(b"1").replace(b'; filename="run.csv"', b"")).status == 400
    assert (
        _bring(
            worker, _form(b"1").replace(b"text/csv", b"text/csv\r\nContent-Transfer-Encoding: base64")
        ).status
        == 400
    )
    twice = _form(b"1")[: -len(EDGE) - 6] + _form(b"2")
    assert _bring(worker, twice).status == 400
    assert _bring(worker, _form(b"  \n")).status == 422
    assert worker.post(f"{RUNS}/bring", {"file": "x"}).status == 415
    assert _bring(worker, _form(b"1"), more={"content-type": "multipart/form-data"}).status == 400
    assert _bring(worker, _form(b"1"), more={"sec-fetch-site": "cross-site"}).status == 403
    monkeypatch.setattr(uploads.read_upload, "__kwdefaults__", {"patience": 0.05})
    assert _bring(worker, *[b"a"] * 9, wait=0.02).status == 408
    assert files_of(worker.shop) == before


def test_bodies_of_rubbish_are_refused_and_never_a_fault(worker: BenchClient) -> None:
    draw, before = random.Random(11), files_of(worker.shop)
    pieces = [
        f"--{EDGE}".encode(), b"--", b"\r\n", b"Content-Disposition: form-data; name=", b'"file"', b"; filename*=x''%ff",
        b"Content-Type: multipart/mixed; boundary=a", b"\0", b"\xff\xfe", b"=?utf-8?q?=00?=", b"Content-Disposition: \x80",
        b"a" * 300, b"; name*0=a; name*1=b", b"Content-Type: message/rfc822\r\n\r\n",
    ]  # fmt: skip
    for _ in range(tries(quick=80, thorough=3000)):
        body = b"".join(draw.choice(pieces) for _ in range(draw.randrange(1, 14)))
        assert 400 <= _bring(worker, body).status < 500, body
    assert files_of(worker.shop) == before


def test_a_guest_reads_runs_and_brings_none(shop: Path) -> None:
    guest = BenchClient(shop).come_in(VisitorRole.LOOKS_ON)
    page = guest.get(f"{RUNS}?file=tarn_peaks.csv").text
    assert "What was measured" in page
    assert '<form method="post"' not in page
    assert _bring(guest, _form(b"1")).status == 403


def test_only_files_of_the_folder_are_read(worker: BenchClient) -> None:
    for wrong in ("../shelf.csv", "shelf.csv", "/etc/passwd", "none.csv"):
        assert worker.get(f"{RUNS}?file={quote_plus(wrong)}").status == 422
