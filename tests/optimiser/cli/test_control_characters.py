"""No text from a file, a file's name or an option controls the terminal, the page or a spreadsheet."""

import json
import re
from pathlib import Path

import pytest

from optimiser.files.beside import picture_beside
from optimiser.files.csv_cells import as_meant, defused
from optimiser.files.shelf import ShelfRow, shelf_from_text, shelf_text
from optimiser.model.stock import ShimKey
from optimiser.report.printable import printable
from tests.helpers.command_line import Seen, Typed

pytestmark = pytest.mark.usefixtures("plans_once")

BIKE, DAMPER, JOB = "bikes/oxlip_trail.toml", "dampers/tarn_shock.toml", "jobs/b_clicks_do.toml"
EVIL = r"\u001b[31m\u009b2J\u202e\u0007x"
CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def edit(path: Path, pattern: str, new: str) -> None:
    text, count = re.subn(
        pattern, lambda _: new, path.read_text(encoding="utf-8"), count=1, flags=re.MULTILINE
    )
    assert count == 1
    path.write_text(text, encoding="utf-8")


def spoil(shop: Path, *, stack: bool) -> None:
    """Names that would control a terminal; that of the stack in the job, too, where it is looked up."""
    for file in (BIKE, DAMPER, JOB):
        edit(shop / file, r'^(name|title) = ".*"$', f'{"title" if file == JOB else "name"} = "evil {EVIL}"')
    edit(shop / DAMPER, r'name = "compression stack"', f'name = "stack {EVIL}"')
    edit(shop / DAMPER, r'name = "rebound"$', f'name = "knob {EVIL}"')
    edit(shop / JOB, r"^most_changes = 2$", "most_changes = 1\ncandidates = 2")
    if stack:
        edit(shop / JOB, r'^stack = "compression stack"$', f'stack = "stack {EVIL}"')


def clean(seen: Seen) -> bool:
    return not CONTROLS.search(seen.out + seen.err)


@pytest.mark.parametrize(
    "words",
    [
        ("leverage", BIKE, "--corner", "rear"),
        ("leverage", BIKE),
        ("curve", DAMPER, "--to", "0.2"),
        ("curve", DAMPER, "--to", "0.2", "--json"),
        ("lift", DAMPER, "--to", "3"),
        ("ride-plan", DAMPER),
        ("plan", JOB),
        ("plan", JOB, "--json"),
        ("curve", "\x1b[31mnowhere.toml"),
        ("curve", DAMPER, "--clicks", "\x1b[31m=3"),
        ("curve", DAMPER, "--\x1b[31m"),
        ("\x1b[31m",),
        ("done", "\x1b[31m\x9b2J"),
    ],
    ids=lambda words: printable(" ".join(words)),
)
def test_nothing_that_controls_a_terminal_is_printed(
    words: tuple[str, ...], shop: Path, typed: Typed
) -> None:
    spoil(shop, stack=words[0] == "plan")
    typed("stock", "import", "shelf.csv", "--write")
    seen = typed(*words)
    assert clean(seen)
    if words[-1] == "--json":
        document = json.loads(seen.out)
        assert "\x1b[31m\x9b2J\u202e\x07x" in document["damper"]
    elif seen.code == 0:
        assert "evil \u241b[31m\ufffd2J\ufffd" in " ".join((seen.out + seen.err).split()) or words[0] in {
            "lift",
            "curve",
        }


def test_the_page_and_the_drawings_hold_marks(shop: Path, typed: Typed) -> None:
    spoil(shop, stack=True)
    typed("stock", "import", "shelf.csv", "--write")
    assert typed("plan", JOB).code == 0
    assert typed("curve", DAMPER, "--to", "0.2").code == 0
    page = (shop / JOB).with_suffix(".html").read_text(encoding="utf-8")
    assert "evil \u241b[31m" in page
    assert not CONTROLS.search(page)
    assert not CONTROLS.search(picture_beside(shop / DAMPER, "curve").read_text(encoding="utf-8"))


def test_an_error_about_a_reason_or_an_id_holds_marks(shop: Path, typed: Typed) -> None:
    typed("stock", "import", "shelf.csv", "--write")
    typed("stock", "count", "20x0.05", "7", "--reason", "\x1b]0;title\x07 counted")
    for words in (
        ("undo", "--list"),
        ("undo", "--list", "--json"),
        ("stock", "list"),
        ("release", "\x1b[2Jjob"),
    ):
        seen = typed(*words)
        assert clean(seen), words
    assert "\u241b]0;title\u2407 counted" in " ".join(typed("undo", "--list").out.split())


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-", "@SUM(A1)", "'=1", "''=1", "'", "plain", "a=b", "'quoted'", ""]
)
def test_a_formula_in_a_cell_is_defused_and_read_back_equal(text: str) -> None:
    row = ShelfRow(ShimKey(20_000, 100, 8_000), 3, drawer=text, label=text)
    written = shelf_text([row])
    cells = written.splitlines()[1].split(",")
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)
    assert shelf_from_text(written, name="shelf.csv").rows == (row,)
    assert as_meant(defused(text)) == text


def test_a_formula_that_somebody_else_wrote_is_read_as_it_stands() -> None:
    text = "outer_mm,thickness_mm,hole_mm,count,drawer\n20,0.10,8,3,=A1\n"
    assert shelf_from_text(text, name="shelf.csv").rows[0].drawer == "=A1"


def test_text_that_people_write_stays_as_it_is() -> None:
    said = "Größe 0,15 – „so“\t日本語 🙂 e\u0301\nnext line"
    assert printable(said) == said
