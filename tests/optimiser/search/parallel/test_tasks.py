"""Tasks in processes of their own: what comes of them is in order, and an error or an end reaches the caller."""

from __future__ import annotations

import os
import time
from collections.abc import Callable

import pytest

from optimiser.errors import InputError
from optimiser.search.parallel.tasks import in_processes


def squared(item: int, wait: Callable[[], None]) -> tuple[int, int]:
    wait()
    time.sleep(0.02 * (5 - item))
    return item**2, os.getpid()


@pytest.mark.parametrize("cores", [1, 2, 9])
def test_results_come_in_the_order_of_the_items(cores: int) -> None:
    found = in_processes(squared, range(5), wait=lambda: None, cores=cores)
    assert [one for one, _ in found] == [0, 1, 4, 9, 16]
    processes = {process for _, process in found}
    assert (processes == {os.getpid()}) is (cores == 1)
    assert len(processes) <= cores


def refused(item: int, _: Callable[[], None]) -> int:
    if item == 2:
        raise InputError("the third is refused.")
    return item


def test_an_error_in_a_process_is_raised_here() -> None:
    with pytest.raises(InputError, match="the third is refused"):
        in_processes(refused, range(4), wait=lambda: None, cores=2)


def endless(_: int, __: Callable[[], None]) -> None:
    time.sleep(600)


def test_whoever_waits_may_end_it() -> None:
    def wait() -> None:
        raise TimeoutError

    begun = time.monotonic()
    with pytest.raises(TimeoutError):
        in_processes(endless, range(2), wait=wait, cores=2)
    assert time.monotonic() - begun < 60
