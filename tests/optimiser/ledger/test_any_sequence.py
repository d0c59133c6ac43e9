"""Any sequence of steps keeps the books: checked against a second set of books that the test keeps."""

import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from optimiser.ledger.build_rows import PlannedBuild
from optimiser.ledger.builds import done, release, reserve
from optimiser.ledger.check import examine
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import LedgerError, RefusedError
from optimiser.ledger.jobs import JobNumbers, stack_history
from optimiser.ledger.levels import shelf_levels
from optimiser.ledger.shelf_changes import count_type, import_shelf, receive, scrap
from optimiser.ledger.undo import past_operations, undo
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.helpers.ledger_shop import START, A, B, C, D, counts, new_job, new_shop, planned, shelf_of

JOBS = ("ines", "jonas", "maren")
STEPS = 200
EXAMPLES = tries(quick=6, thorough=25)

key = st.sampled_from((A, B, C, D))
few = st.integers(1, 4)
job = st.sampled_from(JOBS)
STEP = st.one_of(
    st.tuples(st.just("receive"), key, few),
    st.tuples(st.just("scrap"), key, few),
    st.tuples(st.just("count"), key, st.integers(0, 6)),
    st.tuples(st.just("import"), st.dictionaries(key, st.integers(0, 6), min_size=1)),
    st.tuples(st.just("build"), job, st.dictionaries(key, st.integers(1, 2), max_size=2), st.booleans()),
    st.tuples(st.just("build"), job, st.dictionaries(key, st.integers(1, 2), max_size=2), st.booleans()),
    st.tuples(st.just("done"), job, st.booleans()),
    st.tuples(st.just("release"), job),
    st.tuples(st.just("undo"), st.integers(0, 15)),
)
LONG = settings(
    max_examples=EXAMPLES,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate],  # shrinking two hundred steps would take minutes
)
MANY = st.lists(STEP, min_size=STEPS, max_size=STEPS)


@pytest.fixture(scope="module", autouse=True)
def tally(request: pytest.FixtureRequest) -> Iterator[Counter[Any]]:
    """Print, when the module is through, how many steps were really tried and how many were taken back."""
    done_so_far: Counter[str] = Counter()
    yield done_so_far
    with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
        print(  # noqa: T201
            f"\nany sequence: {done_so_far['sequences']} sequences, {done_so_far['steps']} steps, "
            f"{done_so_far['taken back']} taken back on the way to the start"
        )


class Books:
    """The same shop in plain dictionaries, which know nothing of movements."""

    def __init__(self, numbers: dict[str, JobNumbers]) -> None:
        self.numbers = numbers
        self.shelf = Counter(START)
        self.promised: dict[str, PlannedBuild] = {}
        self.stacks: dict[str, tuple[ShimKey, ...]] = dict.fromkeys(JOBS, (D, D))

    def reserved(self, key: ShimKey) -> int:
        return sum(plan.taken.get(key, 0) for plan in self.promised.values())

    def free(self, key: ShimKey) -> int:
        return self.shelf[key] - self.reserved(key)

    def counts(self) -> dict[ShimKey, tuple[int, int]]:
        both = {key: (self.shelf[key], self.reserved(key)) for key in START}
        return {key: pair for key, pair in both.items() if pair != (0, 0)}


def do_receive(ledger: Ledger, books: Books, key: ShimKey, count: int) -> None:
    receive(ledger, key, count, reason="invoice")
    books.shelf[key] += count


def do_scrap(ledger: Ledger, books: Books, key: ShimKey, count: int) -> None:
    if tried(books.free(key) >= count, scrap, ledger, key, count, reason="bent"):
        books.shelf[key] -= count


def do_count(ledger: Ledger, books: Books, key: ShimKey, count: int) -> None:
    if tried(count >= books.reserved(key), count_type, ledger, key, count, reason="stock-take"):
        books.shelf[key] = count


def do_import(ledger: Ledger, books: Books, new: dict[ShimKey, int]) -> None:
    allowed = all(count >= books.reserved(key) for key, count in new.items())
    if tried(allowed, import_shelf, ledger, shelf_of(new), reason="shelf.csv"):
        books.shelf.update({key: count - books.shelf[key] for key, count in new.items()})


def do_build(ledger: Ledger, books: Books, name: str, taken: dict[ShimKey, int], take_one_out: bool) -> None:
    before = books.stacks[name]
    returned = {before[0]: 1} if take_one_out and len(before) > 1 else {}
    plan = planned(books.numbers[name], taken=taken, returned=returned, before=before)
    allowed = name not in books.promised and all(books.free(key) >= n for key, n in taken.items())
    if tried(allowed, reserve, ledger, plan):
        books.promised[name] = plan


def do_done(ledger: Ledger, books: Books, name: str, bend: bool) -> None:
    plan = books.promised.get(name)
    bent = dict(plan.returned) if plan and bend else {}
    if tried(plan is not None, done, ledger, name, scrapped=bent):
        assert plan is not None
        for change, sign in ((plan.taken, -1), (plan.returned, 1), (bent, -1)):
            books.shelf.update({key: sign * count for key, count in change.items()})
        books.stacks[name] = plan.stack
        del books.promised[name]


def do_release(ledger: Ledger, books: Books, name: str) -> None:
    if tried(name in books.promised, release, ledger, name):
        del books.promised[name]


STEPS_BY_NAME: dict[str, Callable[..., None]] = {
    "receive": do_receive,
    "scrap": do_scrap,
    "count": do_count,
    "import": do_import,
    "build": do_build,
    "done": do_done,
    "release": do_release,
}


def tried(allowed: bool, act: Callable[..., Any], *args: Any, **kwargs: dict[Any, Any] | str) -> bool:
    """Do it; the ledger must allow what the books allow, and refuse what they do not."""
    if not allowed:
        with pytest.raises(LedgerError):
            act(*args, **kwargs)
        return False
    act(*args, **kwargs)
    return True


def never_negative(ledger: Ledger) -> bool:
    return all(level.shelf >= level.reserved >= 0 for level in shelf_levels(ledger))


def last_step(ledger: Ledger) -> int:
    return past_operations(ledger, most=1)[0].number


def new_ledger(folder: Path) -> tuple[Ledger, Books]:
    new_shop(folder)
    ledger = Ledger.open(folder)
    return ledger, Books({name: new_job(ledger, name) for name in JOBS})


@LONG
@given(steps=MANY)
def test_two_hundred_steps_agree_with_second_books_and_undo_walks_back_through_them(
    fast_folder: Path, steps: list[tuple[Any, ...]], tally: Counter[str]
) -> None:
    with tempfile.TemporaryDirectory(dir=fast_folder) as folder:
        ledger, books = new_ledger(Path(folder))
        past = []
        with ledger:
            for what, *with_ in steps:
                before, number = deepcopy(books), last_step(ledger)
                if what != "undo":
                    STEPS_BY_NAME[what](ledger, books, *with_)
                    if last_step(ledger) != number:
                        past.append(before)
                elif past:
                    undo(ledger)
                    books = past.pop()
                assert counts(ledger) == books.counts()
                assert never_negative(ledger)
            assert examine(ledger) == ()
            tally.update({"sequences": 1, "steps": len(steps), "taken back": len(past)})
            while past:
                undo(ledger)
                books = past.pop()
                assert counts(ledger) == books.counts()
            assert counts(ledger) == {key: (count, 0) for key, count in START.items() if count}
            assert examine(ledger) == ()


@LONG
@given(steps=MANY)
def test_undo_of_any_step_is_refused_or_right_and_undo_of_all_returns_the_start(
    fast_folder: Path, steps: list[tuple[Any, ...]], tally: Counter[str]
) -> None:
    with tempfile.TemporaryDirectory(dir=fast_folder) as folder:
        ledger, books = new_ledger(Path(folder))
        with ledger:
            first = last_step(ledger)
            for what, *with_ in steps:
                if what == "undo":
                    standing = still_standing(ledger, first)
                    if standing:
                        take_back(ledger, standing[with_[0] % len(standing)])
                else:
                    act_whatever_the_books_say(ledger, books, what, with_)
                assert never_negative(ledger)
            assert examine(ledger) == ()
            standing = still_standing(ledger, first)
            tally.update({"sequences": 1, "steps": len(steps), "taken back": len(standing)})
            for _ in standing:
                undo(ledger)
            assert counts(ledger) == {key: (count, 0) for key, count in START.items() if count}
            assert examine(ledger) == ()


def still_standing(ledger: Ledger, first: int) -> list[int]:
    past = past_operations(ledger, most=10_000)
    return [s.number for s in past if s.number > first and s.kind != "undo" and not s.undone]


def take_back(ledger: Ledger, number: int) -> bool:
    before = counts(ledger)
    try:
        undo(ledger, number)
    except LedgerError:
        assert counts(ledger) == before
        return False
    return True


def act_whatever_the_books_say(ledger: Ledger, books: Books, what: str, with_: list[Any]) -> None:
    """After an undo out of turn the plain books no longer know; the ledger decides, and keeps its rules."""
    try:
        if what == "build":
            name, taken, _ = with_
            now = stack_history(ledger, books.numbers[name].damper_id)[-1].stack
            reserve(ledger, planned(books.numbers[name], taken=taken, before=now))
        elif what in {"done", "release"}:
            end: Callable[..., object] = done if what == "done" else release
            end(ledger, with_[0])
        elif what == "import":
            import_shelf(ledger, shelf_of(with_[0]), reason="shelf.csv")
        else:
            by_name: dict[str, Callable[..., object]] = {
                "receive": receive,
                "scrap": scrap,
                "count": count_type,
            }
            by_name[what](ledger, *with_, reason="any")
    except LedgerError:
        return


def test_undo_of_an_empty_past_is_refused(fast_folder: Path) -> None:
    with (
        Ledger.open(fast_folder, create=True) as ledger,
        pytest.raises(RefusedError, match="Nothing to undo"),
    ):
        undo(ledger)
