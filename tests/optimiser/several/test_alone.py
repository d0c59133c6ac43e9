"""A stack alone is searched no further than is worth while once several together are known to do."""

from __future__ import annotations

from optimiser.search import Control, Progress
from optimiser.search.budget import RANKING
from optimiser.several.alone import BESIDE_OTHERS, Enough


def news(evaluations: int, *, too_few: int) -> Progress:
    return Progress(too_few + 1, 0, 0, evaluations, 0, too_few)


def test_evaluations_count_from_when_the_changes_before_are_closed() -> None:
    """Two changes are closed however long it takes; of three no more than so much is asked."""
    control = Enough.once_closed(2).control(Control[Progress]())
    assert control.progress is not None
    for evaluations, too_few, ended in (
        (50_000, 1, False),
        (90_000, 2, False),
        (90_000 + RANKING, 2, False),
        (90_001 + RANKING, 2, True),
    ):
        control.progress(news(evaluations, too_few=too_few))
        assert control.stop_requested() == ended


def test_beside_others_evaluations_count_from_the_first() -> None:
    control = Enough.beside_others().control(Control[Progress]())
    assert control.progress is not None
    control.progress(news(500, too_few=0))
    control.progress(news(BESIDE_OTHERS, too_few=1))
    assert not control.stop_requested()
    control.progress(news(501 + BESIDE_OTHERS, too_few=1))
    assert control.stop_requested()


def test_the_user_still_ends_it_and_is_told() -> None:
    told: list[Progress] = []
    control = Enough.beside_others().control(Control(should_stop=lambda: True, progress=told.append))
    assert control.progress is not None
    control.progress(news(1, too_few=0))
    assert control.stop_requested()
    assert told == [news(1, too_few=0)]
