"""Who may come in: one-time keys, each swapped for a session that a browser keeps as a cookie."""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Final

KEY_LIFE: Final = 15 * 60.0
"""A key that was made at the bench is good for so long. [s]"""

SESSION_LIFE: Final = 16 * 3600.0
"""A browser stays in for a working day and a long evening. [s]"""

MOST_SESSIONS: Final = 500
"""More browsers than this are in no workshop; the oldest gives way."""


class VisitorRole(Enum):
    """What somebody may do."""

    WORKS = "works"
    LOOKS_ON = "looks on"


@dataclass(frozen=True, slots=True)
class _Until:
    role: VisitorRole
    end: float


class Doors:
    """The keys that were given out and the sessions they were swapped for; both are kept as hashes alone.

    Parameters
    ----------
    clock : the time, for tests. [s]
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._keys: dict[bytes, _Until] = {}
        self._sessions: dict[bytes, _Until] = {}

    def new_key(self, role: VisitorRole, *, life: float = KEY_LIFE) -> str:
        """A key that lets one browser in, once.

        Parameters
        ----------
        role : what that browser may do.
        life : how long it may wait to be used. [s]
        """
        key = secrets.token_urlsafe(24)
        with self._lock:
            self._keys[_hash(key)] = _Until(role, self._clock() + life)
        return key

    def swap(self, key: str) -> str | None:
        """The session that a key is good for, and the key is used up; None for one that is not good."""
        with self._lock:
            found = self._keys.pop(_hash(key), None)
            if found is None or found.end < self._clock():
                return None
            session = secrets.token_urlsafe(32)
            while len(self._sessions) >= MOST_SESSIONS:
                self._sessions.pop(next(iter(self._sessions)))
            self._sessions[_hash(session)] = _Until(found.role, self._clock() + SESSION_LIFE)
            return session

    def role_of(self, session: str | None) -> VisitorRole | None:
        """What the holder of a session may do; None for nobody."""
        if session is None:
            return None
        with self._lock:
            found = self._sessions.get(_hash(session))
            return None if found is None or found.end < self._clock() else found.role

    def leave(self, session: str) -> None:
        """End a session."""
        with self._lock:
            self._sessions.pop(_hash(session), None)


def _hash(secret: str) -> bytes:
    """What is kept of a secret; looked up by hash, so that the time it takes tells nothing of the secret."""
    return hashlib.sha256(secret.encode("utf-8", errors="surrogatepass")).digest()
