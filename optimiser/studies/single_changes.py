"""Every stack that is one change away: one shim out, one in, or one for another, as the rules allow."""

from __future__ import annotations

from collections.abc import Iterator

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import Keys, keys_of, stack_of
from optimiser.model.packs import packs_of
from optimiser.model.rules import Mounting, rules_for, violations
from optimiser.model.stock import Stock


def single_changes(stack: Stack, *, mounting: Mounting, stock: Stock) -> Iterator[Stack]:
    """Stacks one change away, each once; a shim that comes lies at every place of its pack in turn.

    Of a pack that only adds height, no wider than the clamp, one order stands for all.

    Parameters
    ----------
    stack : as it is.
    mounting : the place that it is bolted to.
    stock : what is on the shelf; a shim that leaves one place may also come back at another.
    """
    old = keys_of(stack)
    rules = rules_for(stack, mounting)
    clamp = round(mounting.clamp_diameter / MICROMETRE)
    seen = {_alike(old, clamp)}
    for new in _within_one(old, stock, hole=round(mounting.hole_diameter / MICROMETRE)):
        name = _alike(new, clamp)
        if name in seen:
            continue
        seen.add(name)
        built = stack_of(new)
        if not violations(rules, built, mounting):
            yield built


def _within_one(old: Keys, stock: Stock, *, hole: int) -> Iterator[Keys]:
    shelf = stock.fitting(inner=hole)
    for left_out in (None, *range(len(old))):
        rest = old if left_out is None else (*old[:left_out], *old[left_out + 1 :])
        if left_out is not None:
            yield rest
        coming = shelf if left_out is None else tuple(sorted({*shelf, old[left_out]}))
        for key in coming:
            for place in range(len(rest) + 1):
                yield (*rest[:place], key, *rest[place:])


def _alike(keys: Keys, clamp: int) -> tuple[Keys, ...]:
    return tuple(pack if pack[0].outer > clamp else tuple(sorted(pack)) for pack in packs_of(keys))
