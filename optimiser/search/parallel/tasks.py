"""Tasks that know nothing of one another, side by side in forked processes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from optimiser.search.parallel.worker import Served, answered, can_fork

Item = TypeVar("Item")
Result = TypeVar("Result")

Task = Callable[[Item, Callable[[], None]], Result]
"""What is done with an item; it calls the second argument now and then, which may raise to end it."""


class _Tasks(Generic[Item, Result]):
    """The tasks in a process of their own, which is killed when it is to end."""

    def __init__(self, task: Task[Item, Result], items: Sequence[Item]) -> None:
        self._task, self._items = task, items

    def do(self, number: int) -> Result:
        """One of them."""
        return self._task(self._items[number], lambda: None)


def in_processes(
    task: Task[Item, Result], items: Sequence[Item], *, wait: Callable[[], None], cores: int
) -> list[Result]:
    """What comes of a task for each item, in their order.

    Parameters
    ----------
    task : what comes of it has to be the same in whatever process.
    items : what it is done with.
    wait : called now and then; may raise to end it.
    cores : processes at most.
    """
    processes = min(cores, len(items)) if can_fork() else 1
    if processes <= 1:
        return [task(item, wait) for item in items]
    workers = [Served(_Tasks(task, items)) for _ in range(processes)]
    found: dict[int, Result] = {}
    at: dict[int, int] = {}
    waiting = list(range(len(items)))[::-1]
    try:
        while len(found) < len(items):
            for number, worker in enumerate(workers):
                if number not in at and waiting:
                    at[number] = waiting.pop()
                    worker.send("do", at[number])
            for number in sorted(answered({number: workers[number] for number in at})):
                found[at.pop(number)] = workers[number].answer(wait)
            wait()
    finally:
        for worker in workers:
            worker.close()
    return [found[number] for number in range(len(items))]
