"""Margins of predicted forces: each is measured on stacks whose crossovers are like its own."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.screen.surrogate_force import SurrogateForce

EVEN, SIMILAR, UNEVEN = 0, 1, 2
FIGURES = np.array([[200.0, 30e3], [210.0, 30e3], [500.0, 26e3]])
"""Gap and widest shim of three kinds of crossover, the first two much alike. [um]"""


def margins_of(known: tuple[int, int, int]) -> np.ndarray:
    """Margins of one more stack of each kind, relative to the deviation there, from so many that are known."""
    random = np.random.default_rng(3)
    kinds = np.repeat([EVEN, SIMILAR, UNEVEN], np.add(known, 1))
    inputs = random.uniform(-1, 1, (len(kinds), 2))
    logs = np.sin(inputs @ [1.0, 0.7])[:, None]
    logs[kinds == UNEVEN, 0] += 0.05 * random.choice([-1.0, 1.0], (kinds == UNEVEN).sum())
    asked = np.searchsorted(kinds, [EVEN, SIMILAR, UNEVEN])
    inputs[asked] = inputs[asked[0]]
    inputs[kinds == UNEVEN] += 5.0
    places = np.setdiff1d(np.arange(len(kinds)), asked)
    surrogate = SurrogateForce(FIGURES, 1.0)
    surrogate.fit(inputs[places], kinds[places], logs[places], np.zeros(len(places)))
    return np.asarray(surrogate.predict(inputs[asked], kinds[asked]).margins[:, 0])


@pytest.mark.parametrize("few", [0, 5])
def test_a_kind_of_which_few_are_known_has_the_margin_of_those_most_like_it(few: int) -> None:
    even, similar, uneven = margins_of((40, few, 40))
    assert similar == pytest.approx(even)
    assert uneven > 1.5 * even


def test_errors_of_a_kind_of_which_few_are_known_count_for_it_all_the_same() -> None:
    even, _, uneven = margins_of((40, 20, 4))
    assert uneven > 1.5 * even


def test_margins_are_never_less_than_most_errors_of_all_kinds() -> None:
    """Where nine in ten stacks are uneven, an even one is no surer than they are."""
    even, _, uneven = margins_of((25, 0, 400))
    assert even > 0.5 * uneven
