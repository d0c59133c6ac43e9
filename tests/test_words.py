"""One thing has one name: words that were replaced do not come back, in names or in prose.

A name is split at its underscores and capitals. Docstrings, comments, messages and pages are prose; so is the name of
a test, which is a sentence.
"""

from __future__ import annotations

import io
import re
import sys
import tokenize
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Final

import pytest

from tests.helpers.paths import ROOT
from tests.helpers.replaced_words import REPLACED, replaced_in

GONE: Final = frozenset(
    [
        "crew",
        "crews",
        "dealt",
        "doubt",
        "doubts",
        "foresaw",
        "foresee",
        "foreseen",
        "foresees",
        "grain",
        "hopeless",
        "lanes",
        "nought",
        "parcel",
        "parcels",
        "pile",
        "piles",
        "ripe",
        "station",
        "stations",
        "unwrapped",
    ]
)
"""Words that stand nowhere."""

GONE_FROM_NAMES: Final = frozenset(
    [
        "aim",
        "aims",
        "ask",
        "asking",
        "asks",
        "bench",
        "benches",
        "chord",
        "drift",
        "drifts",
        "faint",
        "give",
        "gives",
        "hands",
        "judge",
        "judges",
        "laid",
        "lane",
        "lean",
        "leans",
        "learn",
        "learned",
        "many",
        "meets",
        "rough",
        "roughly",
        "stood",
        "thought",
        "thoughts",
        "turns",
        "wants",
        "workshop",
        "workshops",
        "wrapped",
    ]
)
"""Words with an everyday meaning, which prose may use and names may not."""

_PAGE: Final = (
    "optimiser/bench/",
    "optimiser/cli/bench_command.py",
    "tests/bench_pictures.py",
    "tests/benchmarks/bench_pages.py",
    "tests/helpers/every_page.py",
    "tests/helpers/bench_",
    "tests/optimiser/bench/",
)
"""All that serves the shop as a page, at a real bench in a real workshop."""

INNOCENT: Final = {
    "ask": (
        *_PAGE,
        "optimiser/cli/intake_",
        "optimiser/files/entry/",
        "optimiser/intake/questions.py",
        "tests/damping_model/",
        "tests/optimiser/cli/test_intake_",
    ),
    "asking": ("optimiser/cli/intake_",),
    "asks": ("optimiser/files/", "tests/optimiser/files/"),
    "bench": (*_PAGE, "tests/helpers/ledger_process.py", "tests/optimiser/ledger/"),
    "benches": ("tests/optimiser/ledger/",),
    "faint": ("optimiser/report/",),
    "learned": (
        "optimiser/cli/history_command.py",
        "optimiser/intake/own_record.py",
        "tests/optimiser/intake/",
    ),
    "many": ("tests/",),
    "workshop": _PAGE,
    "meets": ("optimiser/intake/", "optimiser/search/iterative_deepening.py"),
}
"""Where a name means the everyday thing: a question to a rider or to a page, a real bench, a pale line, what rides taught, few and many,
bands that meet, stacks that meet a goal."""

PYTHON: Final = sorted(
    path for folder in ("damping_model", "optimiser", "tests") for path in (ROOT / folder).rglob("*.py")
)
TEXTS: Final = sorted(
    path
    for folder, pattern in (("optimiser", "*.jinja"), ("optimiser", "*.toml"), ("inventory_demo", "*.toml"))
    for path in (ROOT / folder).rglob(pattern)
)
PAGES: Final = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
PIECE: Final = re.compile(
    r"""(?P<prose>\#.*|(?i:[bfru]|rb|br|fr|rf)?(?:"{3}(?s:\\.|.)*?"{3}|'{3}(?s:\\.|.)*?'{3}"""
    r"""|"(?:\\(?s:.)|[^"\\\n])*"|'(?:\\(?s:.)|[^'\\\n])*'))|\w+"""
)
"""What :mod:`tokenize` calls a string, a comment, a name or a number, found ten times as fast."""
WORD: Final = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+")


@cache
def words_of(text: str) -> list[str]:
    """Words of prose, or of a name in snake_case or CamelCase."""
    return [word.lower() for word in WORD.findall(text)]


@cache
def gone_from_names(file: str, name: str) -> set[str]:
    """Words in a name of a file that are gone from names there."""
    if name.startswith("test_"):
        return set(words_of(name)) & GONE
    used = set(words_of(name))
    innocent = {word for word in used if file.startswith(INNOCENT.get(word, ("nowhere",)))}
    return used & (GONE | GONE_FROM_NAMES) - innocent


@cache
def pieces_of(path: Path) -> list[tuple[int, str, bool]]:
    """Names, strings and comments of a Python file: line, text, and whether it is prose."""
    text, line, place, found = path.read_text(encoding="utf-8"), 1, 0, []
    for match in PIECE.finditer(text):
        line += text.count("\n", place, match.start())
        place = match.start()
        found.append((line, match[0], match.lastgroup == "prose"))
    return found


def left_in_code(path: Path) -> Iterator[str]:
    """Places in a Python file where a word that is gone still stands."""
    file = str(path.relative_to(ROOT))
    for line, text, is_prose in pieces_of(path):
        found = set(words_of(text)) & GONE if is_prose else gone_from_names(file, text)
        yield from (f"{file}:{line}: {word}" for word in sorted(found))


def test_none_of_the_words_that_are_gone_is_left_in_the_code() -> None:
    assert [place for path in PYTHON if path != Path(__file__) for place in left_in_code(path)] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_none_of_the_words_that_are_gone_is_left_on_a_page(page: Path) -> None:
    lines = page.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if set(words_of(line)) & GONE] == []


def test_no_output_can_use_a_word_that_the_trade_s_own_has_replaced() -> None:
    modules = [path for path in PYTHON if "replaced_words" not in path.name and path != Path(__file__)]
    code = [(path, line, text) for path in modules for line, text, is_prose in pieces_of(path) if is_prose]
    files = [(path, 0, path.read_text(encoding="utf-8")) for path in TEXTS]
    pages = [(path, 0, path.read_text(encoding="utf-8")) for path in PAGES if path.name != "changelog.md"]
    left = [
        (str(path.relative_to(ROOT)), line, replaced_in(text)) for path, line, text in code + files + pages
    ]
    assert [place for place in left if place[2]] == []


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="tokenize parts f-strings since 3.12")
@pytest.mark.parametrize("path", PYTHON[::40], ids=lambda path: path.name)
def test_a_file_is_taken_to_pieces_as_python_does(path: Path) -> None:
    tokens = list(tokenize.generate_tokens(io.StringIO(path.read_text(encoding="utf-8")).readline))
    kinds = {tokenize.NAME: False, tokenize.STRING: True, tokenize.COMMENT: True}
    wanted = [(one.start[0], one.string, kinds[one.type]) for one in tokens if one.type in kinds]
    assert [piece for piece in pieces_of(path) if piece[2] or piece[1].isidentifier()] == wanted


def test_each_replaced_word_is_seen() -> None:
    shown = (
        "spilled",
        "off target",
        "MISSED",
        "clicks only",
        "given back",
        "promised to",
        "the doctor",
        "mean change",
    )
    assert all(replaced_in(f"so {words} it was") for words in shown)
    assert replaced_in("change elsewhere: 2 %, average change 3 %") == []
    assert len(REPLACED) > 10


def test_the_check_sees_a_word_in_a_name_and_leaves_an_innocent_one() -> None:
    assert gone_from_names("optimiser/search/objective.py", "best_aim") == {"aim"}
    assert gone_from_names("optimiser/search/objective.py", "HopelessNode") == {"hopeless"}
    assert gone_from_names("optimiser/report/curves.py", "FAINT") == set()
    assert gone_from_names("damping_model/plates/newton.py", "FAINT") == {"faint"}
