"""Documentation that fails the build: what a page shows is run, and what can be run has a page."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import COMMANDS, cli
from optimiser.files.demo_shop import lay_out
from tests import commands_page
from tests.helpers.counts import thorough_only
from tests.helpers.paths import ROOT
from tests.helpers.replaced_words import replaced_in

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
BLOCK = re.compile(r"^```(console|python)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
RUN_BY_THE_TESTS_THEMSELVES = ("python3 -m venv",)
SEARCHES_LONG = {
    "plan-a-job",
    "see-how-far-a-band-goes",
    "plan-many-jobs",
    "stock-a-season",
    "turn-other-parts",
    "get-finer-steps",
    "fit-a-damper",
    "how-sure",
}
LONG = thorough_only("searches long; the tests of the command itself do the same")
CODE = re.compile(r"`([^`]+)`")


def _name(page: Path) -> str:
    return str(page.relative_to(ROOT))


def _shown(page: Path, language: str) -> list[str]:
    """Blocks of a language that a page shows and a test can run."""
    found = [match[2] for match in BLOCK.finditer(page.read_text(encoding="utf-8")) if match[1] == language]
    return [block for block in found if not block.startswith(RUN_BY_THE_TESTS_THEMSELVES)]


def _rows(page: str, heading: str) -> Iterator[list[str]]:
    """Rows of the tables of a page that have a column of that heading."""
    table = False
    for line in (ROOT / page).read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if not line.startswith("|"):
            table = False
        elif heading in cells:
            table = True
        elif table and not set(line) <= set("|- :"):
            yield cells


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One demo shop that all examples are typed into, as a reader would."""
    folder = tmp_path_factory.mktemp("docs") / "shop"
    lay_out(folder)
    return folder


@pytest.mark.usefixtures("plans_once")
@pytest.mark.parametrize(
    "block",
    [
        pytest.param(block, id=f"{_name(page)}-{number}", marks=LONG if page.stem in SEARCHES_LONG else ())
        for page in PAGES
        for number, block in enumerate(_shown(page, "console"))
    ],
)
def test_every_command_shown_runs_and_prints_what_the_page_says(
    block: str, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shop)
    commands = re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]
    assert commands, "a console block shows at least one '$ ' command"
    for command in commands:
        line, _, shown = command.partition("\n")
        words = shlex.split(line, comments=True)
        assert words[0] == "shimwright"
        result = CliRunner().invoke(cli, words[1:], catch_exceptions=False, env={"COLUMNS": "100"})
        assert result.exit_code in {0, 3, 4}, result.output
        assert replaced_in(result.output) == []
        for expected in shown.splitlines():
            if expected.strip() not in {"", "..."}:
                assert expected.rstrip() in result.output


@thorough_only("each name is tried by its own tests")
@pytest.mark.parametrize("page", [page for page in PAGES if _shown(page, "python")], ids=_name)
def test_the_python_examples_of_a_page_run_one_after_another(
    page: Path, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shop)
    names: dict[str, object] = {"__name__": "example"}
    for block in _shown(page, "python"):
        exec(compile(block, _name(page), "exec"), names)  # noqa: S102 (our own pages)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example_and_a_page_that_names_it(name: str) -> None:
    result = CliRunner().invoke(cli, [name, "--help"])
    assert result.exit_code == 0
    assert f"shimwright {name}" in result.output
    written = [
        page for page in PAGES if page != commands_page.PAGE
    ]  # that page quotes every help, so it proves nothing
    assert any(f"shimwright {name}" in page.read_text(encoding="utf-8") for page in written)


def test_the_page_of_commands_says_what_their_help_says() -> None:
    # compared by words: click breaks lines differently from one release to the next
    assert commands_page.PAGE.read_text(encoding="utf-8").split() == commands_page.page().split(), (
        "run: python -m tests.commands_page"
    )


@pytest.mark.parametrize(
    "row", list(_rows("docs/glossary.md", "where")), ids=lambda row: re.sub(r"\W+", "-", row[0])[:40]
)
def test_every_word_of_the_glossary_is_at_home_in_a_module_that_exists(row: list[str]) -> None:
    term, meaning, unit, where = row
    assert meaning, term
    assert unit, term
    assert (ROOT / where.strip("`")).is_file(), where


@pytest.mark.parametrize(
    "row", list(_rows("DEVELOPERS.md", "where")), ids=lambda row: re.sub(r"\W+", "-", row[0])[:40]
)
def test_every_place_to_change_something_exists_under_the_name_given(row: list[str]) -> None:
    change, where, names = row
    files = [ROOT / path for path in CODE.findall(where)]
    assert files, change
    assert all(path.exists() for path in files), where
    text = "\n".join(path.read_text(encoding="utf-8") for path in files if path.is_file())
    for name in CODE.findall(names):
        assert re.search(rf"\b{re.escape(name.rpartition('.')[2])}\b", text), f"{name} in {where}"


@pytest.mark.parametrize("page", PAGES, ids=_name)
def test_every_link_between_pages_leads_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\((?!https?://|#)([^)#]+)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_every_page_is_on_the_map_of_pages() -> None:
    map_of_pages = ROOT / "docs" / "README.md"
    linked = {
        (map_of_pages.parent / target).resolve()
        for target in re.findall(r"\]\(([^)#]+)", map_of_pages.read_text(encoding="utf-8"))
    }
    assert {page for page in PAGES if ROOT / "docs" in page.parents} - {map_of_pages} - linked == set()
