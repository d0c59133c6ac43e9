"""What a request has to be before any page sees it: for this machine, from this page, small and soon whole.

An address of this machine is no wall by itself: a page from elsewhere can send forms to it, and a name from
elsewhere can be made to point at it. So the hosts are listed, a form has to come from this very page, and
what is decided is decided on the path as it was sent.

References
----------
.. [1] W3C, *Fetch Metadata Request Headers*, section 2.3, Sec-Fetch-Site.
.. [2] RFC 6454, *The Web Origin Concept*, section 7, the Origin header.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

LONGEST_TARGET: Final = 4096
"""Of path and query together. [bytes]"""

METHODS: Final = ("GET", "HEAD", "POST")

FORM: Final = "application/x-www-form-urlencoded"

UPLOAD: Final = "multipart/form-data"

UPLOADS: Final = re.compile(r"/dampers/[^/]+/runs/bring")
"""Where a form may bring a file."""

_PLAIN_PATH: Final = re.compile(r"/[A-Za-z0-9 _.,+()\u00c0-\u024f/-]*")
"""Letters, figures and what file names have; nothing that steers a path or a page."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a request is not answered.

    Parameters
    ----------
    status : code of HTTP, from 400 to 499.
    words : for people.
    """

    status: int
    words: str


@dataclass(frozen=True, slots=True)
class AskedRequest:
    """A request as it came, before anything is made of it.

    Parameters
    ----------
    method, path : of the request; the path decoded.
    target : path and query as they were sent.
    headers : names in lower case, with repetitions.
    """

    method: str
    path: str
    target: bytes
    headers: tuple[tuple[str, str], ...]

    @classmethod
    def of(
        cls, *, method: str, path: str, raw_path: bytes, query: bytes, headers: Iterable[tuple[bytes, bytes]]
    ) -> AskedRequest:
        """The request of an ASGI scope."""
        texts = tuple((name.decode("latin-1").lower(), value.decode("latin-1")) for name, value in headers)
        return cls(method, path, raw_path + b"?" + query, texts)

    def header(self, name: str) -> str | None:
        """The value of a header; None where it is not there."""
        return next((value for found, value in self.headers if found == name), None)

    @property
    def kind(self) -> str:
        """What the body is, without what stands behind it."""
        return (self.header("content-type") or "").partition(";")[0].strip().lower()


def refusal_of(asked: AskedRequest, *, hosts: Collection[str]) -> Refusal | None:
    """Why a request is refused before anybody looks who sent it; None for one that is not.

    Parameters
    ----------
    asked : the request.
    hosts : names with port that this page is served under.
    """
    once = Counter(name for name, _ in asked.headers)
    if any(once[name] > 1 for name in ("host", "content-length", "content-type", "origin", "cookie")):
        return Refusal(400, "A header stands there twice.")
    host = (asked.header("host") or "").lower()
    if host not in hosts:
        return Refusal(421, "This page is not served under that name.")
    if asked.method not in METHODS:
        return Refusal(405, "Only pages and forms are served here.")
    if len(asked.target) > LONGEST_TARGET:
        return Refusal(414, "That address is too long.")
    if not _PLAIN_PATH.fullmatch(asked.path) or ".." in asked.path or "//" in asked.path:
        return Refusal(404, "There is no such page.")
    return _of_form(asked, host) if asked.method == "POST" else None


def _of_form(asked: AskedRequest, host: str) -> Refusal | None:
    """Why a form is refused: it comes from another page, or is no form."""
    site, origin = asked.header("sec-fetch-site"), asked.header("origin")
    if site is not None and site not in {"same-origin", "none"}:
        return Refusal(403, "That form was sent from another page.")
    # A browser that speaks plain HTTP over the network sends no Sec-Fetch-Site, but always an Origin.
    if origin is not None and origin.lower() != f"http://{host}":
        return Refusal(403, "That form was sent from another page.")
    kind = UPLOAD if brings_file(asked) else FORM
    if asked.kind != kind:
        return Refusal(415, "Only plain forms are taken here.")
    return None


def brings_file(asked: AskedRequest) -> bool:
    """Whether a form at this address brings a file."""
    return UPLOADS.fullmatch(asked.path) is not None
