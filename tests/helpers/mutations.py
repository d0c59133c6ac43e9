"""Files of a shop spoiled at random, as typing, a bad disk, another program or a stranger would spoil them."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from typing import Final

NUMBERS: Final = (
    "0", "-0.0", "-1", "1e-300", "1e300", "1e999", "inf", "-inf", "nan", "true", "false", '""', "[]", "{}",
    "0.0001", "0.01", "0.5", "2", "7", "13.7", "150", "500", "4999", "123456789", "0x7fffffffffffffffffff",
    "9" * 50, "9" * 5000, "0x" + "f" * 9000, "1979-05-27T07:32:00Z", '"12"', '"1,5"', "1_000", "+3", "[1, 2]",
)  # fmt: skip
"""What stands where a number stood."""

TEXTS: Final = (
    "", " ", "\\u0000", "a\\u0000b", "\\u001b[31mred\\u001b[0m", "\\u009b31m", "\\u202eevil", "x" * 300, "x" * 3000,
    "Oxlip [/140]", "[bold]", "[/]", ":boom:", "=1+1", "@SUM(A1)", "../../../etc/passwd", "/dev/zero", "/etc/passwd",
    "..", ".", "/", "~", "$x^2$", "$\\\\frac$", "\\\\", "%s{}{0}", "<script>alert(1)</script>", "&amp;", "two\\nlines",
    "\\t", "\\r\\n", "é", "e\\u0301", "日本", "🙂", "24x0.20", "0 of 20x0.1", "200 of 20x0.10", "20x0.10 hole 19", "nan",
)  # fmt: skip
"""What stands where a text stood, as TOML and JSON write it."""

LUMPS: Final = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\x1b[2J", b"\xc3", b"\n", b'"', b"'''", b"[", b"]", b"{", b"}", b",", b";", b"#",
    b"=", b"\t", b"\r", b"[[", b"[" * 900, b"x = " + b"[" * 900 + b"]" * 900 + b"\n", b"a." * 900 + b"b = 1\n",
    b"\n[extra]\nkey = 1\n", b"\nextra = 1\n", b"".join(b"k%d = 1\n" % n for n in range(300)), b"-", b"1", b"9", b".", b"e",
)  # fmt: skip
"""Bytes that are put in anywhere."""

_NUMBER: Final = re.compile(r"(?<![\w.\"-])-?\d+(?:\.\d+)?(?![\w.\"-])")
_TEXT: Final = re.compile(r'"[^"\n]*"')
_KEY: Final = re.compile(r"(?m)^\s*\"?(\w+)\"?\s*[=:]")


def mutated(data: bytes, rng: random.Random) -> bytes:
    """The file with one to three faults in it."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        data = rng.choice(_FAULTS)(data, rng)
    return data


def _number(data: bytes, rng: random.Random) -> bytes:
    return _replaced(data, rng, _NUMBER, lambda _old: rng.choice(NUMBERS))


def _scaled(data: bytes, rng: random.Random) -> bytes:
    factor = 10.0 ** rng.uniform(-4, 4)
    return _replaced(data, rng, _NUMBER, lambda old: f"{float(old) * factor:.6g}")


def _text(data: bytes, rng: random.Random) -> bytes:
    return _replaced(data, rng, _TEXT, lambda _old: f'"{rng.choice(TEXTS)}"')


def _text_to_number(data: bytes, rng: random.Random) -> bytes:
    return _replaced(data, rng, _TEXT, lambda _old: rng.choice(NUMBERS))


def _key(data: bytes, rng: random.Random) -> bytes:
    return _replaced(
        data, rng, _KEY, lambda old: old.replace(old.strip(" \n=:"), rng.choice(("x", "", "naem")))
    )


def _replaced(data: bytes, rng: random.Random, pattern: re.Pattern[str], by: Callable[[str], str]) -> bytes:
    text = data.decode("utf-8", "surrogateescape")
    hits = list(pattern.finditer(text))
    if not hits:
        return _lump(data, rng)
    hit = rng.choice(hits)
    return (text[: hit.start()] + by(hit[0]) + text[hit.end() :]).encode("utf-8", "surrogateescape")


def _lump(data: bytes, rng: random.Random) -> bytes:
    place = rng.randint(0, len(data))
    return data[:place] + rng.choice(LUMPS) + data[place:]


def _cut(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randint(0, len(data))]


def _gap(data: bytes, rng: random.Random) -> bytes:
    place = rng.randint(0, len(data))
    return data[:place] + data[place + rng.randint(1, 40) :]


def _flipped(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return data
    place = rng.randrange(len(data))
    return data[:place] + bytes([data[place] ^ (1 << rng.randrange(8))]) + data[place + 1 :]


def _lines(data: bytes, rng: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    if len(lines) < 2:
        return data
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    what = rng.randrange(4)
    if what == 0:
        del lines[one]
    elif what == 1:
        lines.insert(other, lines[one])
    elif what == 2:
        lines[one], lines[other] = lines[other], lines[one]
    else:
        lines[one:one] = [lines[one]] * 400
    return b"".join(lines)


_FAULTS: Final = (
    _number, _number, _number, _scaled, _scaled, _text, _text, _text_to_number, _key, _lump, _cut, _gap, _flipped, _lines,
)  # fmt: skip
