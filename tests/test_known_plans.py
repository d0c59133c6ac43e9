"""Plans that workers share go by what they depend on, not by how a process happens to hold it."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from types import MappingProxyType

from optimiser.files.job_reader import read_job
from tests.helpers.known_plans import name_of
from tests.helpers.paths import STIFF_SHOP


def test_sets_in_another_order_and_copies_have_the_same_name() -> None:
    """Two numbers that collide lie in a set as they came; strings do by a hash that each process draws."""
    one, other = {0, 8}, {8, 0}
    assert list(one) != list(other)
    text = "a rider's words"
    copy = text.encode().decode()
    assert text is not copy
    assert name_of((one, text, text)) == name_of((other, text, copy))
    assert name_of(frozenset(one)) == name_of(frozenset(other))
    assert name_of({1: 2, 3: 4}) == name_of({3: 4, 1: 2})


def test_whatever_differs_has_another_name() -> None:
    names = [
        name_of(asked) for asked in ({0, 8}, {0, 9}, [0, 8], {0: 8}, MappingProxyType({0: 9}), "0", 0, None)
    ]
    assert len(set(names)) == len(names)
    job = read_job(STIFF_SHOP / "jobs" / "b_clicks_do.toml")
    assert name_of(job) == name_of(deepcopy(job))
    assert name_of(job) != name_of(replace(job, work=replace(job.work, most_changes=1)))
