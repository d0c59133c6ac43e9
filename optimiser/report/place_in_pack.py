"""Where in its pack a new shim goes, in words: the order of unequal shims of one diameter counts."""

from __future__ import annotations

from damping_model.stack.stack import Stack
from optimiser.model.edits import keys_of
from optimiser.model.packs import numbered_packs


def place_in_pack(stack: Stack, place: int) -> str:
    """Where a shim lies among others of its diameter; empty where that makes no difference.

    It makes none among shims of one thickness, nor among those no wider than the last shim of the stack,
    which add height and nothing else.

    Parameters
    ----------
    stack : with the shim in it.
    place : of the shim, 0 at the piston.
    """
    keys = keys_of(stack)
    own = keys[place]
    first, pack = max(one for one in numbered_packs(keys) if one[0] <= place)
    if own.outer <= keys[-1].outer or len({key.thickness for key in pack}) == 1:
        return ""
    if place == first:
        return f"on the piston's side of the {keys[place + 1]}"
    if place == first + len(pack) - 1:
        return f"behind the {keys[place - 1]}"
    before, behind = keys[place - 1], keys[place + 1]
    if before != behind:
        return f"between the {before} and the {behind}"
    nearer = 0
    while place - 1 - nearer >= first and keys[place - 1 - nearer] == before:
        nearer += 1
    return f"among the {before}, {nearer} of them on the piston's side"
