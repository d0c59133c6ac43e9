"""The body of a form: small, whole within seconds, and with few fields."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from typing import Any, Final
from urllib.parse import parse_qsl

from optimiser.bench.refusals import Refusal

LARGEST: Final = 64 * 1024
"""More than this no form of these pages has. [bytes]"""

PATIENCE: Final = 8.0
"""How long a form may take to come. [s]"""

MOST_FIELDS: Final = 200

Receive = Callable[[], Awaitable[Mapping[str, Any]]]


async def read_form(
    receive: Receive, *, length: str | None, patience: float = PATIENCE
) -> dict[str, str] | Refusal:
    """The fields of a form, or why it is refused.

    Parameters
    ----------
    receive : gives the next part, as ASGI has it.
    length : what the request says of its length.
    patience : how long the whole may take. [s]
    """
    if length is not None and (not length.isascii() or not length.isdecimal()):
        return Refusal(400, "That length is no number.")
    if length is not None and int(length) > LARGEST:
        return Refusal(413, "That is more than a form of this page has.")
    try:
        body = await asyncio.wait_for(whole_body(receive, largest=LARGEST), patience)
    except TimeoutError:
        return Refusal(408, "The form took too long to come.")
    return body if isinstance(body, Refusal) else _fields(body)


async def whole_body(receive: Receive, *, largest: int) -> bytes | Refusal:
    """All parts of a body together, or why it is refused.

    Parameters
    ----------
    receive : gives the next part, as ASGI has it.
    largest : of the body. [bytes]
    """
    body = bytearray()
    while True:
        part = await receive()
        if part["type"] != "http.request":
            return Refusal(400, "The form broke off.")
        body += part.get("body", b"")
        if len(body) > largest:
            return Refusal(413, "That is more than a form of this page has.")
        if not part.get("more_body", False):
            return bytes(body)


def _fields(body: bytes) -> dict[str, str] | Refusal:
    try:
        pairs = parse_qsl(
            body.decode("utf-8"), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict"
        )
    except ValueError:
        return Refusal(400, "That form cannot be read.")
    fields = dict(pairs)
    if len(fields) != len(pairs):
        return Refusal(400, "A field stands there twice.")
    if any("\0" in text for pair in pairs for text in pair):
        return Refusal(400, "That form cannot be read.")
    return {name: text.replace("\r\n", "\n") for name, text in fields.items()}
