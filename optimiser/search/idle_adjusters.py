"""Adjusters that are turned for nothing: where fewer turned do as well, the others stay where they are."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Final

from optimiser.model.answer import Candidate
from optimiser.model.band_result import EDGE

AS_NEAR: Final = 0.05
"""Misfit by which a goal that is missed anyway may be missed further: a twentieth of a half-width. [-]"""


def without_idle_adjusters(
    unchanged: Sequence[Candidate], *, settings: Sequence[Mapping[str, int]], present: int
) -> list[Candidate]:
    """Settings of the adjusters, less those where one could be turned back at no loss.

    No loss is a goal met as before, or missed as nearly, and an error on target that grows by less than the
    model is accurate. So no adjuster of the other stroke is turned for the little that it lends.

    Parameters
    ----------
    unchanged : the stack as it is, at some settings.
    settings : positions of the adjusters, by the numbers that candidates name.
    present : the setting that the damper is at.
    """
    places = {tuple(sorted(setting.items())): number for number, setting in enumerate(settings)}
    known = {one.setting: one for one in unchanged}
    kept = []
    for one in unchanged:
        fewer = (
            known.get(places[key]) for key in _with_fewer_turned(settings[one.setting], settings[present])
        )
        if not any(other is not None and _as_good(other, one) for other in fewer):
            kept.append(one)
    return kept


def _as_good(other: Candidate, one: Candidate) -> bool:
    near = one.misfit + AS_NEAR if one.misfit else 0.0
    return other.misfit <= near and other.target_error <= one.target_error + EDGE


def _with_fewer_turned(
    setting: Mapping[str, int], present: Mapping[str, int]
) -> Iterator[tuple[tuple[str, int], ...]]:
    turned = [name for name, at in setting.items() if at != present[name]]
    for count in range(len(turned)):
        for left in combinations(turned, count):
            yield tuple(sorted((name, at if name in left else present[name]) for name, at in setting.items()))
