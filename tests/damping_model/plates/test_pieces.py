"""Two processes that share the work of compiling."""

import contextlib
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from damping_model.plates.pieces import ELSEWHERE, HERE, types_of
from damping_model.plates.second_process import SecondProcess, second_process
from damping_model.stack.warm_up import is_compiled, warm_up


@pytest.mark.parametrize("piece", [*ELSEWHERE, *HERE], ids=lambda piece: piece.__name__)
def test_a_piece_is_compiled_for_the_types_that_a_run_has(piece: Any) -> None:
    """Compiled by itself and compiled by its caller it is one and the same, so that it is compiled once."""
    warm_up()
    piece.compile(types_of(piece))
    assert len(list(Path(piece.stats.cache_path).glob(f"*.{piece.__name__}-*.nbc"))) == 1


def test_the_pieces_make_up_the_model() -> None:
    """An entry of the model finds each of them compiled: it needs no other types."""
    warm_up()
    assert is_compiled()
    for piece in (*ELSEWHERE, *HERE):
        piece.compile(types_of(piece))
        assert list(piece.signatures) == [types_of(piece)]


def test_nobody_waits_for_a_process_that_has_ended() -> None:
    """What it has not compiled is compiled here."""
    with second_process("no_such_module:function") as other:
        other.wait_for(never_compiled)
        assert not other.works()


@pytest.mark.skipif(not hasattr(signal, "pause"), reason="the system has nothing that waits for ever")
def test_work_that_fails_stops_the_second_process() -> None:
    """It would otherwise go on for nobody."""
    begun: list[SecondProcess] = []
    with contextlib.suppress(ZeroDivisionError), second_process("signal:pause") as other:
        begun.append(other)
        assert other.works()
        raise ZeroDivisionError
    assert not begun[0].works()


def refuse(*_: object, **__: object) -> None:
    raise OSError


@pytest.mark.parametrize(
    ("owner", "name", "value"),
    [
        (subprocess, "Popen", refuse),
        (os, "cpu_count", lambda: 1),
        (sys, "frozen", True),
        (sys, "executable", ""),
    ],
)
def test_where_no_process_can_be_begun_all_is_compiled_here(
    monkeypatch: pytest.MonkeyPatch, owner: Any, name: str, value: object
) -> None:
    """The one process does not wait for the other."""
    monkeypatch.setattr(owner, name, value, raising=False)
    with second_process("threading:Event") as other:
        other.wait_for(never_compiled)
        assert not other.works()


def never_compiled() -> None:
    pass
