"""A file that is brought to a page: one, of a size that instruments write, with the fields of its form."""

from __future__ import annotations

import asyncio
import re
from dataclasses import dataclass
from email.message import Message
from email.parser import BytesParser
from typing import Final

from optimiser.bench.bodies import MOST_FIELDS, Receive, whole_body
from optimiser.bench.refusals import Refusal

LARGEST_UPLOAD: Final = 5_000_000
"""Some minutes of a fast recorder. [bytes]"""

UPLOAD_PATIENCE: Final = 60.0
"""How long a file may take to come over a workshop's network. [s]"""

_BOUNDARY: Final = re.compile(
    r"multipart/form-data;\s*boundary=\"?[A-Za-z0-9'()+_,./:=?-]{1,70}\"?", re.IGNORECASE
)
_LONGEST_FIELD: Final = 64 * 1024

_TOO_LARGE: Final = (
    f"That file is larger than {LARGEST_UPLOAD / 1e6:.0f} MB. "
    "Cut it, or put it into the shop's folder by hand."
)


@dataclass(frozen=True, slots=True)
class Upload:
    """What a form with a file brings.

    Parameters
    ----------
    name : of the file, as its browser says.
    data : that it holds.
    fields : of the form beside it.
    """

    name: str
    data: bytes
    fields: dict[str, str]


async def read_upload(
    receive: Receive, *, length: str | None, content_type: str, patience: float = UPLOAD_PATIENCE
) -> Upload | Refusal:
    """The file and the fields of a form, or why it is refused.

    Parameters
    ----------
    receive : gives the next part, as ASGI has it.
    length : what the request says of its length.
    content_type : what it says of its form.
    patience : how long the whole may take. [s]

    References
    ----------
    .. [1] RFC 7578, *Returning Values from Forms: multipart/form-data*.
    """
    if not _BOUNDARY.fullmatch(content_type.strip()):
        return Refusal(400, "That form cannot be read.")
    if length is not None and (not length.isascii() or not length.isdecimal()):
        return Refusal(400, "That length is no number.")
    if length is not None and int(length) > LARGEST_UPLOAD:
        return Refusal(413, _TOO_LARGE)
    try:
        body = await asyncio.wait_for(whole_body(receive, largest=LARGEST_UPLOAD), patience)
    except TimeoutError:
        return Refusal(408, "The file took too long to come.")
    if isinstance(body, Refusal):
        return Refusal(413, _TOO_LARGE) if body.status == 413 else body
    return await asyncio.to_thread(_parted, body, content_type)


def _parted(body: bytes, content_type: str) -> Upload | Refusal:
    head = f"Content-Type: {content_type}\r\n\r\n".encode("latin-1", errors="replace")
    message = BytesParser().parsebytes(head + body)
    parts = message.get_payload()
    if message.defects or not isinstance(parts, list) or len(parts) > MOST_FIELDS:
        return Refusal(400, "That form cannot be read.")
    fields: dict[str, str] = {}
    found: tuple[str, bytes] | None = None
    for part in parts:
        name, file, data = _part(part)
        if name is None or data is None or name in fields or (file is not None and found is not None):
            return Refusal(400, "That form cannot be read.")
        if file is not None:
            found = file, data
            continue
        text = data.decode("utf-8", errors="replace")
        if len(data) > _LONGEST_FIELD or "\0" in text or "\ufffd" in text:
            return Refusal(400, "That form cannot be read.")
        fields[name] = text.replace("\r\n", "\n")
    if found is None:
        return Refusal(400, "That form brings no file.")
    return Upload(found[0], found[1], fields)


def _part(part: object) -> tuple[str | None, str | None, bytes | None]:
    """Name of a field, name of its file, and what it holds."""
    if not isinstance(part, Message) or part.is_multipart():
        return None, None, None
    if part.get_content_disposition() != "form-data" or part.get("content-transfer-encoding"):
        return None, None, None
    name = part.get_param("name", header="content-disposition")
    data = part.get_payload(decode=True)
    if not isinstance(name, str) or not isinstance(data, bytes):
        return None, None, None
    return name, part.get_filename(), data
