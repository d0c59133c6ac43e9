"""A plan whose search were wrong would be an error, and no sheet would be written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from optimiser.jobs import plan as planning
from optimiser.model.answer import Answer
from optimiser.search import climb
from tests.helpers.command_line import Typed

JOB = "jobs/b_clicks_do.toml"


def firmer(answer: Answer) -> Answer:
    """Forces a hundredth higher than they are."""
    listed = tuple(
        replace(one, forces=tuple(1.01 * force for force in one.forces)) for one in answer.candidates
    )
    return replace(answer, candidates=listed)


def fewer(answer: Answer) -> Answer:
    """More proven than was."""
    return replace(answer, proven_too_few=answer.proven_too_few + 1)


@pytest.mark.parametrize(
    ("wrong", "words"), [(firmer, "not those of a fresh run"), (fewer, "which the answer calls too few")]
)
def test_an_answer_that_does_not_hold_is_an_error_and_leaves_no_sheet(
    typed: Typed,
    shop: Path,
    monkeypatch: pytest.MonkeyPatch,
    wrong: Callable[[Answer], Answer],
    words: str,
) -> None:
    def false_climb(*given: Any, **more: Any) -> Any:
        found = climb(*given, **more)
        return found._replace(answer=wrong(found.answer))

    monkeypatch.setattr(planning, "climb", false_climb)
    sheets = set(shop.rglob("*.html"))
    result = typed("plan", JOB)
    assert result.code == 2
    assert words in result.err
    assert "no answer is shown and nothing is written" in " ".join(result.err.split())
    assert set(shop.rglob("*.html")) == sheets
