"""Whether a fit holds: a chance for the scatter, a chance for the pattern."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from optimiser.fit.verdict import FitVerdict, chance_of, sign_changes_seldom


def exact_share(above: int, below: int, runs: int) -> float:
    """Share of all orders of so many signs that have so many runs of signs or fewer, by counting them."""
    count = above + below
    orders = []
    for places in combinations(range(count), above):
        signs = np.zeros(count, bool)
        signs[list(places)] = True
        orders.append(1 + int((signs[1:] != signs[:-1]).sum()) <= runs)
    return float(np.mean(orders))


@pytest.mark.parametrize("runs", [3, 5, 7, 8])
def test_seldom_changes_of_sign_are_as_seldom_as_counting_all_orders_says(runs: int) -> None:
    # signs in runs: as many runs as asked, of 8 above and 8 below
    lengths = [8 // ((runs + 1 - side) // 2) for side in (0, 1)]
    signs: list[float] = []
    left = {1.0: 8, -1.0: 8}
    for number in range(runs):
        sign = 1.0 if number % 2 == 0 else -1.0
        last = number >= runs - 2
        take = left[sign] if last else lengths[number % 2]
        left[sign] -= take
        signs += [sign] * take
    found = sign_changes_seldom(np.array(signs))
    assert found == pytest.approx(exact_share(8, 8, runs), abs=0.02)


def test_signs_all_alike_say_nothing() -> None:
    assert sign_changes_seldom(np.ones(9)) == 1.0


def test_a_sum_is_as_seldom_as_tables_of_chi_square_say() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4: upper critical values, 10 degrees of freedom
    assert chance_of(18.307, 10) == pytest.approx(0.05, abs=1e-4)
    assert chance_of(23.209, 10) == pytest.approx(0.01, abs=1e-4)


def test_a_fit_holds_when_nothing_speaks_against_it() -> None:
    fine = FitVerdict(total=40.0, points=50, by_chance=0.8, patterned=0.5, misses=(0.2, 0.02))
    assert fine.holds
    assert fine.widened == 1.0
    far = replace(fine, total=200.0, by_chance=1e-9)
    assert (far.scattered, far.holds, far.widened) == (True, False, 2.0)
    assert not replace(fine, patterned=0.001).holds
    assert replace(fine, misses=(0.6, -0.09)).bends
