"""Two processes never promise the same shim, and no bench ever sees a lock."""

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from optimiser.ledger import fault_words
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import BusyLedgerError
from optimiser.ledger.shelf_changes import receive
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.helpers.ledger_shop import A, counts, new_shop
from tests.helpers.paths import ROOT

RACES = tries(quick=60, thorough=1000)


class Bench:
    """A process that does what it is told, one order at a time."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.helpers.ledger_process"],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def tell(self, order: Mapping[str, object]) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()

    def answer(self) -> dict[str, Any]:
        assert self.process.stdout is not None
        return json.loads(self.process.stdout.readline())

    def close(self) -> None:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.close()
        self.process.wait(timeout=60)
        self.process.stdout.close()


def test_races_for_the_last_shim_have_one_winner_each(
    fast_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    keys = [ShimKey(10_000 + 10 * number, 100, 8000) for number in range(RACES)]
    new_shop(fast_folder, dict.fromkeys(keys, 1))
    benches = [Bench(), Bench()]
    won: Counter[int] = Counter()
    failed: list[object] = []
    try:
        for number, key in enumerate(keys):
            order = (0, 1) if number % 2 else (1, 0)
            for number_of in order:
                shim = (key.outer, key.thickness, key.inner)
                benches[number_of].tell({"race": (str(fast_folder), number_of, shim)})
            answers = [bench.answer() for bench in benches]
            failed += [answer["error"] for answer in answers if "error" in answer]
            assert failed == []
            assert sorted(answer["won"] for answer in answers) == [False, True]
            winner = answers.index({"won": True})
            won[winner] += 1
            assert answers[1 - winner]["told"] == [f"bench {winner} wants {key}"]
    finally:
        for bench in benches:
            bench.close()
    with Ledger.open(fast_folder) as ledger:
        assert counts(ledger) == dict.fromkeys(keys, (1, 1))
        assert examine(ledger) == ()
    with capsys.disabled():
        print(f"\nraces for the last shim: {RACES}, won {won[0]} : {won[1]}, errors {len(failed)}")  # noqa: T201
    assert min(won.values()) > RACES // 20, "the benches hardly raced at all"


def test_two_benches_may_start_the_same_ledger_at_once(
    fast_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    benches, answers, starts = [Bench(), Bench()], [], tries(quick=6, thorough=100)
    try:
        for number in range(starts):
            (fast_folder / str(number)).mkdir()
            for bench in benches:
                bench.tell({"start": str(fast_folder / str(number))})
            answers += [bench.answer() for bench in benches]
    finally:
        for bench in benches:
            bench.close()
    with capsys.disabled():
        print(f"\nledgers started by two benches at once: {len(answers) // 2}")  # noqa: T201
    assert answers == [{"started": True}] * (2 * starts)


def test_a_bench_that_waits_too_long_is_told_so_and_nothing_is_changed(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Ledger.open(shop) as ledger:
        before = counts(ledger)
        with ledger.atomic():
            monkeypatch.setattr(fault_words, "PATIENCE", 0.05)
            with pytest.raises(BusyLedgerError, match=r"another bench has held the ledger for 0\.05 seconds"):
                receive_one(shop)
        assert counts(ledger) == before
    receive_one(shop)


def receive_one(shop: Path) -> None:
    with Ledger.open(shop) as ledger:
        receive(ledger, A, 1, reason="invoice")
