"""Every stack one change away, held against the search's own tally of changes and the rules of building."""

from collections import Counter
from itertools import product

from damping_model.stack.stack import Stack
from optimiser.model.edits import difference, keys_of
from optimiser.model.rules import Mounting, rules_for, violations
from optimiser.model.stock import ShimKey, Stock
from optimiser.studies.single_changes import single_changes

MOUNTING = Mounting(0.008, 0.0075, 0.0085, 0.0135, 0.009, 0.004)
A, B, C, D = (ShimKey(outer, 150, 8000) for outer in (20_000, 17_000, 14_000, 9_000))
THICK = ShimKey(17_000, 200, 8000)
OLD = Stack(tuple(key.shim for key in (A, A, B, C, D)))


def test_it_lists_what_trying_everything_lists() -> None:
    """Independent: all sequences of four to six shims, kept when the rules and the tally of changes say so."""
    stock = Stock({THICK: 1, C: 1, D: 0})
    tried = (
        Stack(tuple(key.shim for key in keys))
        for length in (4, 5, 6)
        for keys in product((A, B, C, D, THICK), repeat=length)
    )
    expected = {
        stack
        for stack in tried
        if difference(OLD, stack).changes == 1
        and not Counter(keys_of(stack)) - Counter(keys_of(OLD)) - Counter({THICK: 1, C: 1})
        and not violations(rules_for(OLD, MOUNTING), stack, MOUNTING)
    }
    listed = list(single_changes(OLD, mounting=MOUNTING, stock=stock))
    assert set(listed) == expected
    assert len(listed) == len(set(listed))
