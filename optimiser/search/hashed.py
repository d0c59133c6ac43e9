"""Keys that take long to hash and are looked up again and again."""

from __future__ import annotations

from collections.abc import Hashable


class Hashed:
    """A key that is hashed once.

    Parameters
    ----------
    key : what it stands for.
    """

    __slots__ = ("_hash", "key")

    def __init__(self, key: Hashable) -> None:
        self.key = key
        self._hash = hash(key)

    def __hash__(self) -> int:
        """As of the key."""
        return self._hash

    def __eq__(self, other: object) -> bool:
        """Whether the keys are alike."""
        return isinstance(other, Hashed) and self._hash == other._hash and self.key == other.key
