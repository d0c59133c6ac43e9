"""Somebody with calipers, a scale and a clock enters all of a job in an empty folder, and gets a sheet."""

import itertools
import json
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pexpect
import pytest
from click.testing import CliRunner

from optimiser.actions.intake_files import known_of
from optimiser.cli import cli
from optimiser.errors import InputError
from optimiser.files.entry.entry_questions import NewFile
from optimiser.files.job_reader import read_job
from optimiser.files.job_writer import read_answers
from optimiser.intake.questions import Question, questions
from optimiser.report.section_text import damper_drawing
from tests.helpers.counts import thorough_only
from tests.helpers.paths import ROOT
from tests.helpers.terminals import terminals

ANSWERS = {name: ROOT / "tests" / "data" / "counter" / f"{name}.toml" for name in ("fork", "shock")}


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """Runs the command line at a terminal of its own in an empty folder."""
    with terminals(tmp_path, timeout=60) as start:
        yield start


def ended(child: pexpect.spawn) -> int:
    child.expect(pexpect.EOF)
    child.close()
    return child.exitstatus


def typed_in(folder: Path, monkeypatch: pytest.MonkeyPatch, *lines: str) -> str:
    """What the command prints when lines are typed into it one after another."""
    monkeypatch.chdir(folder)
    return CliRunner().invoke(cli, ["intake", "fork.toml"], input="\n".join(lines) + "\n").output


Asked = list[tuple[Question, str]]


@cache
def asked_in(name: str) -> Asked:
    """Every question of an intake in an empty folder, with what a file in tests answers; each answer checked."""
    given, answers, asked = read_answers(ANSWERS[name]), dict[str, str](), list[tuple[Question, str]]()
    with tempfile.TemporaryDirectory() as folder:
        while True:
            said = dict(answers)  # what was said so far stays with the question
            found = questions(known_of(Path(folder) / "job.toml", said), said)
            question = next((one for one in found if one.key not in said), None)
            if question is None:
                return asked
            text = given.get(question.key, "")
            answers[question.key] = question.check(text) if text else question.skipped
            asked.append((question, text))


def question_of(name: str, key: str) -> Question:
    """One question, with all that was said before it."""
    return next(question for question, _ in asked_in(name) if question.key == key)


def enter(terminal: Callable[..., Any], name: str, *, stacks: int) -> None:
    """Answer every question at a terminal, a line at a time, up to the written job."""
    child = terminal("intake", f"{name}.toml")
    for question, text in asked_in(name):
        child.expect_exact(question.ask)
        shown = child.before
        child.expect_exact(" > ")
        for line in text.split(", ") if question.line else [text]:
            child.sendline(line)
        if question.line and text:
            child.sendline("")
        if question.key == "damper drawn":
            assert shown.count("half section") == stacks
    child.expect_exact(f"Next: shimwright plan {name}.toml")
    assert ended(child) == 0


def test_a_fork_is_entered_at_a_terminal_in_an_empty_folder(
    terminal: Callable[..., Any], tmp_path: Path
) -> None:
    enter(terminal, "fork", stacks=2)
    assert read_job(tmp_path / "fork.toml").damper.name == "Hazel's fork"
    assert not list(tmp_path.rglob(".*"))


@thorough_only("two searches; a quick run enters the fork and reads its job")
@pytest.mark.parametrize(("name", "stacks"), [("fork", 2), ("shock", 3)])
def test_from_an_empty_folder_to_a_build_sheet_without_an_editor(
    terminal: Callable[..., Any], tmp_path: Path, name: str, stacks: int
) -> None:
    enter(terminal, name, stacks=stacks)
    child = terminal("plan", f"{name}.toml", "--time-limit", "20")
    child.expect_exact("not measured: got")
    child.expect_exact(f"Build sheet: {name}.html")
    assert ended(child) == 0
    page = (tmp_path / f"{name}.html").read_text(encoding="utf-8")
    assert "Not measured: " in page
    damper = read_answers(ANSWERS[name])["damper name"]
    assert damper.replace("'", "&#39;") in page
    assert not list(tmp_path.rglob(".*"))


@pytest.mark.parametrize("name", ANSWERS)
def test_the_same_answers_from_a_file_write_the_same_shop(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = CliRunner().invoke(
        cli, ["intake", "job.toml", "--answers", str(ANSWERS[name])], catch_exceptions=False
    )
    assert ran.exit_code == 0
    job = read_job(tmp_path / "job.toml")
    assert not [fault for mounted in job.damper.stacks for fault in mounted.faults]
    assert any(one.what.startswith("port length of") for one in job.damper.not_measured)
    assert not any(one.what == "stroke" for one in job.damper.not_measured)
    assert job.stock.counts
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "bikes",
        "dampers",
        "job.toml",
        "riders",
        "shelf.csv",
    ]


def test_a_job_in_a_folder_of_jobs_puts_what_is_new_beside_that_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "jobs").mkdir()
    monkeypatch.chdir(tmp_path)
    words = ["intake", "jobs/new.toml", "--answers", str(ANSWERS["fork"])]
    assert CliRunner().invoke(cli, words, catch_exceptions=False).exit_code == 0
    assert (tmp_path / "riders" / "juno.toml").exists()
    assert 'rider = "../riders/juno.toml"' in (tmp_path / "jobs" / "new.toml").read_text()
    assert read_job(tmp_path / "jobs" / "new.toml").rider.name == "Juno"


def test_a_stop_half_way_writes_nothing_and_the_same_command_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    output = typed_in(tmp_path, monkeypatch, "Fork", "new", "Juno", "163 lb", "quit")
    assert "That is 73.9356 kg." in output
    assert [path.name for path in tmp_path.iterdir()] == [".fork.toml.answers"]
    output = typed_in(tmp_path, monkeypatch, "quit")
    assert "Going on where you stopped: 4 answers kept." in output
    assert "How heavy, dressed" not in output
    assert "Which machine?" in output


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("rider weight", "not known", "expected an answer: nothing can be planned without it."),
        ("rider weight", "1630 lb", "expected mass of less than or equal to 250"),
        ("bike front travel", "6 furlongs", "expected a length in mm or another unit"),
        (
            "damper shaft",
            "24 mm",
            "expected shaft diameter smaller than piston diameter, got 24 and 22. If it is",
        ),
        (
            "damper piston",
            "200 mm",
            "8 to 120 mm: no shim stack sits on a smaller or a larger piston; did you mean 20?",
        ),
        ("damper air", "95", "got '95' without its unit"),
        ("damper compression stack", "16x10", "a thickness from 0.03 to 1 mm, got 10"),
        ("damper compression stack", "16x0.10, 5x0.10", "a hole smaller than the rim"),
        ("damper compression seat", "17 mm", "The face shim is 16 mm wide and leaves the ports open"),
        ("damper compression ring", "12 to 30 mm", "expected port outer diameter smaller than"),
        ("damper compression ports", "40 of 6 mm", "expected port area of at most"),
        ("damper drawn", "no", "a word of the question to answer anew, like 'back rebound stack'."),
        ("shelf 6 mm", "16 by a tenth", "expected a shim like '24x0.20'"),
    ],
)
def test_nonsense_is_refused_at_its_own_question(key: str, text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        question_of("fork", key).check(text)
    assert said in str(caught.value)


NASTY = (
    "", " ", "0", "-5", "-0.0", "nan", "inf", "1e999", "9" * 400, "1/0", "1/2/3", "0/0 in", "٣ mm", "½ in", "5 5 5 5",
    "= piston", "none", "no", "not known", "new", "x" * 1999, "\x00", "\ud800", "“12”", "1 x 2 x 3", "3 of 3 of 3",
    "0 0, 0 0", "1e-9 1e-9", "0.001 of 0.001", "999999999 x 0.1", "0 of 3", "40 of 0.0001 x 999", "0, 0", "99 99", "1 in in",
    "20x0.1 hole 20", "200 of 20x0.1", "0.1 to 0.2", "0 to 0", "59 to 60 mm", "0 cSt", "16 cSt at 40, 900 at 100", "VG 0",
)  # fmt: skip
"""What nobody means, at any question."""


@pytest.mark.parametrize(
    "name", ["fork", pytest.param("shock", marks=thorough_only("the fork's are as many"))]
)
def test_whatever_is_typed_is_an_answer_or_is_refused_in_words(name: str) -> None:
    unsaid = []
    for question, _ in asked_in(name):
        for text in NASTY:
            try:
                kept = question.check(text)
            except InputError as error:
                unsaid += [] if "expected" in str(error) else [(question.key, text, str(error))]
            else:
                assert isinstance(kept, str)
                assert question.taken is None or isinstance(question.taken(kept), str)
    assert unsaid == []


def test_a_name_that_a_file_has_is_refused_with_the_way_to_choose_that_file(tmp_path: Path) -> None:
    (tmp_path / "riders").mkdir()
    (tmp_path / "riders" / "juno.toml").write_text('name = "Juno"\nmass_kg = 60\n')
    name = next(NewFile("rider", tmp_path, {}).questions(damper_drawing))
    with pytest.raises(
        InputError, match=r"juno.toml is there already; expected another name. Or type 'back'"
    ):
        name.check("Juno!")


def test_what_stands_for_a_figure_that_is_not_known_is_said() -> None:
    said = {
        "damper air": "Not measured: 1 bar, give or take 100 %; the file says so.",
        "damper oil": "Not measured: 15 cSt at 40 °C, give or take 40 %; the file says so.",
        "bike front spring": "Left out.",
    }
    for key, words in said.items():
        taken = question_of("fork", key).taken
        assert taken is not None
        assert taken("not known") == words
    oil = question_of("fork", "damper oil").taken
    assert oil is not None
    assert oil("5W") == "Taken as 17 cSt at 40 °C, give or take 35 %; the file says so."


def test_the_machine_says_how_long_a_stroke_is_and_another_one_is_remarked_on() -> None:
    taken = question_of("fork", "damper stroke").taken
    assert taken is not None
    assert taken("not known") == "Not measured: 160 mm, give or take 5 %; the file says so."
    assert taken("160") == ""
    assert taken("140 mm") == (
        "Mind: the front wheel of Hazel trail bike moves its shaft by 160 mm, not 140 mm."
    )


def test_a_line_of_a_stack_that_cannot_be_read_leaves_the_lines_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stack = question_of("fork", "damper compression stack")
    assert stack.line is not None
    with pytest.raises(InputError, match="got '16 by a tenth'"):
        stack.line("16 by a tenth")
    before = "".join(
        f"{json.dumps(question.key)} = {json.dumps(text)}\n"
        for question, text in itertools.takewhile(lambda one: one[0].key != stack.key, asked_in("fork"))
    )
    (tmp_path / ".fork.toml.answers").write_text(before, encoding="utf-8")
    output = typed_in(
        tmp_path,
        monkeypatch,
        *("2 of 16x0.10", "16 by a tenth", "15x0.10", "back", "16x.1 x2", "13 x 0,15; 9x.2", "", "back"),
    )
    assert "This line is not taken; the ones before are." in output
    assert "Taken back: 15x0.10" in output
    assert "Back. It was: 4 of 16x0.10, 13x0.15, 9x0.20 (Enter keeps it)" in output


def test_a_missing_answer_in_a_file_is_named_before_those_that_hang_on_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text = ANSWERS["fork"].read_text(encoding="utf-8")
    (tmp_path / "a.toml").write_text(text.replace('"damper kind"', '"rider shoe"'), encoding="utf-8")
    ran = CliRunner().invoke(cli, ["intake", "job.toml", "--answers", "a.toml"])
    assert isinstance(ran.exception, InputError)
    assert "a.toml: damper kind: missing" in str(ran.exception)
    assert [path.name for path in tmp_path.iterdir()] == ["a.toml"]


def test_the_folder_of_a_first_job_is_made_and_one_of_a_folder_that_is_not_there_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    first = CliRunner().invoke(cli, ["intake", "jobs/own.toml"], input="quit\n")
    assert first.exit_code == 0
    assert (tmp_path / "jobs").is_dir()
    slip = CliRunner().invoke(cli, ["intake", "shop/jobs/own.toml"], input="quit\n")
    assert "there is no folder shop; expected one. Make it first." in str(slip.exception)
    assert not (tmp_path / "shop").exists()
