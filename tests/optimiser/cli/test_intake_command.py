"""The guided questions, at a real terminal where it matters that it is one: nothing that was answered is lost."""

import signal
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pexpect
import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.job_file import JobFile
from optimiser.files.job_writer import answers_text, read_answers
from optimiser.files.writing import write_whole
from tests.helpers.command_line import Typed
from tests.helpers.counts import some_of, thorough_only
from tests.helpers.terminals import terminals

PROMPT = " > "
FILES = ("Whose machine", "Which machine", "Which damper", "Which shelf")


@pytest.fixture
def said(shop: Path) -> Callable[..., str]:
    """Types lines one after another, without a terminal, which takes two seconds to begin; what is printed."""

    def run(*lines: str) -> str:
        ran = CliRunner().invoke(cli, ["intake", "jobs/new.toml"], input="\n".join(lines) + "\n")
        assert ran.exit_code == 0
        return ran.output

    return run


@pytest.fixture
def start(shop: Path) -> Iterator[Callable[..., Any]]:
    """Starts the command at a terminal of its own."""
    with terminals(shop, timeout=30) as start:
        yield partial(start, "intake")


def answer(child: pexpect.spawn, question: str, text: str) -> None:
    child.expect_exact(question)
    child.expect_exact(PROMPT)
    child.sendline(text)


def ended(child: pexpect.spawn) -> int:
    child.expect(pexpect.EOF)
    child.close()
    return child.exitstatus


def choose_files(child: pexpect.spawn) -> None:
    answer(child, "job be called", "Trail bike: wallows")
    answer(child, "Whose machine", "../riders/ines.toml")
    answer(child, "Which machine", "../bikes/oxlip_trail.toml")
    answer(child, "Which damper", "../dampers/tarn_shock.toml")
    answer(child, "Which shelf", "1")


def skip_until(child: pexpect.spawn, question: str) -> None:
    """Skip questions until one that contains some words, which is left open."""
    while True:
        child.expect(r"([^\r\n]*) > ")
        if question in child.match[1]:
            return
        child.sendline("skip")


def finish(child: pexpect.spawn) -> None:
    skip_until(child, "Which of these is it?")
    child.sendline("wallows in long turns")
    skip_until(child, "Which stack may change?")
    child.sendline("compression stack")
    answer(child, "how many changes", "3")
    child.expect_exact("Wrote jobs/new.toml. Next: shimwright plan jobs/new.toml")


def test_forwards_to_the_end_it_writes_a_job_that_can_be_read(start: Callable[..., Any], shop: Path) -> None:
    child = start("jobs/new.toml")
    choose_files(child)
    answer(child, "Sag, front?", "30 mm")
    answer(child, "Tyre pressure, front", "1,6")
    answer(child, "Free play, front", "no")
    answer(child, "Leaks, front", "n")
    answer(child, "Sag, rear?", "15 mm shaft")
    finish(child)
    assert ended(child) == 0
    job = read_toml(shop / "jobs/new.toml", JobFile, what="job")
    assert job.title == "Trail bike: wallows"
    assert job.complaint.symptom == "wallows in long turns"
    assert job.work.stack == "compression stack"
    front, rear = job.basics.corner
    assert (front.sag_mm, front.tyre_pressure_bar, front.free_play, front.leaks) == (30, 1.6, False, False)
    assert rear.sag_shaft_mm == 15
    assert not (shop / "jobs/.new.toml.answers").exists()


def test_back_shows_what_was_answered_and_asks_it_again(said: Callable[..., str], shop: Path) -> None:
    output = said("Frist name", "back", "Trail bike: wallows", "quit")
    assert "Back. It was: Frist name" in output
    assert read_answers(shop / "jobs/.new.toml.answers") == {"title": "Trail bike: wallows"}


def test_back_at_the_first_question_says_so(said: Callable[..., str]) -> None:
    output = said("back", "quit")
    assert output.index("job be called") < output.index("This is the first question.")
    assert output.count("job be called") == 2


def test_a_question_that_a_job_cannot_do_without_is_asked_again_at_once(said: Callable[..., str]) -> None:
    output = said("skip", "", "skip", "Trail bike: wallows", "quit")
    assert output.count("A job cannot do without this.") == 3
    assert output.count("Whose machine") == 1


WRONG_ANSWERS = [
    (
        "Sag, front?",
        "thirty",
        "got 'thirty', expected a sag with its unit, like 38 mm, 27 %, or 15 mm shaft.",
    ),
    ("Sag, front?", "30", "got '30', expected a sag with its unit"),
    ("Sag, front?", "many mm", "got 'many mm', expected a length"),
    ("Tyre pressure, front", "nan", "got 'nan', expected 0 to 60."),
    ("Tyre pressure, front", "-1", "got '-1', expected 0 to 60."),
    ("Tyre pressure, front", "28", "Is it psi? Then write 28 psi."),
    ("Free play, front", "maybe", "got 'maybe', expected yes or no."),
    ("Which of these", "wollows in long turns", "Did you mean 'wallows in long turns'?"),
    ("velocities in numbers", "0.5 to 0.1", "expected the lower velocity first. Swap them."),
    ("velocities in numbers", "fast", "got 'fast', expected two shaft velocities in m/s"),
    ("Which stroke", "sideways", "got 'sideways', expected one of compression, rebound."),
    ("how many percent?", "0", "expected -90 to 400, other than 0."),
    ("Which stack", "main", "got 'main', expected one of"),
    ("how many changes", "7", "got '7', expected a whole number from 0 to 4."),
    ("how many changes", "1.5", "got '1.5', expected a whole number from 0 to 4."),
]
"""Question, what is typed, and what has to be said to it; in the order of the questions."""

RIGHT_ANSWERS = {
    "velocities in numbers": "0.06 to 0.2",
    "Which stroke": "1",
    "how many percent? (like": "8",
    "Which stack": "1",
}
"""Of the questions on the way that cannot be skipped."""


def test_every_wrong_answer_is_explained_and_asked_again(start: Callable[..., Any]) -> None:
    child = start("jobs/new.toml")
    choose_files(child)
    child.expect(r"([^\r\n]*) > ")
    for question, wrong, text in WRONG_ANSWERS:
        while question not in child.match[1]:
            right = (text for part, text in RIGHT_ANSWERS.items() if part in child.match[1])
            child.sendline(next(right, "skip"))
            child.expect(r"([^\r\n]*) > ")
        child.sendline(wrong)
        child.expect_exact(text)
        child.expect(r"([^\r\n]*) > ")
        assert question in child.match[1]


def test_a_file_that_is_not_there_or_is_no_bike_is_asked_again(said: Callable[..., str]) -> None:
    output = said("x", "../riders/inse.toml", *["../riders/ines.toml"] * 2, "quit")
    assert "no such file; expected a rider file. Did you mean " in output
    assert "unknown key" in output
    assert (output.count("Whose machine"), output.count("Which machine")) == (2, 2)


def test_a_question_mark_says_why_it_is_asked(said: Callable[..., str]) -> None:
    output = said("?", "quit")
    assert "It heads the build sheet." in output
    assert output.count("job be called") == 2


def until_it_waits(child: pexpect.spawn) -> None:
    """Until the command sleeps at its prompt: a Ctrl-C just before that would wait for the next key."""
    stat = Path(f"/proc/{child.pid}/stat")
    while stat.exists() and stat.read_text().rpartition(")")[2].split()[0] != "S":
        time.sleep(0.01)


@pytest.mark.parametrize("how", some_of(["control-c", "quit", "killed", "end of input"], every=4))
def test_stopped_half_way_by_any_means_the_same_command_goes_on_and_nothing_is_lost(
    start: Callable[..., Any], shop: Path, how: str
) -> None:
    child = start("jobs/new.toml")
    choose_files(child)
    answer(child, "Sag, front?", "30 mm")
    child.expect_exact("Tyre pressure, front")
    child.expect_exact(PROMPT)
    until_it_waits(child)
    if how == "killed":
        child.kill(signal.SIGKILL)
        child.wait()
    else:
        {"control-c": child.sendintr, "quit": lambda: child.sendline("quit"), "end of input": child.sendeof}[
            how
        ]()
        child.expect_exact(
            "What you answered is kept in jobs/.new.toml.answers. Run the same command to go on."
        )
        assert ended(child) == (0 if how == "quit" else 130)
    assert not (shop / "jobs/new.toml").exists()
    child = start("jobs/new.toml")
    child.expect_exact("Going on where you stopped: 6 answers kept.")
    answer(child, "Tyre pressure, front", "back")
    child.expect_exact("Back. It was: 30 mm")
    answer(child, "Sag, front?", "31 mm")
    answer(child, "Tyre pressure, front", "1.6")
    finish(child)
    assert ended(child) == 0
    assert read_toml(shop / "jobs/new.toml", JobFile, what="job").basics.corner[0].sag_mm == 31


@thorough_only("drives a terminal twice; stopping half way is tried in a quick run")
def test_a_file_that_moved_while_stopped_is_asked_again_and_the_rest_is_kept(
    start: Callable[..., Any], shop: Path
) -> None:
    child = start("jobs/new.toml")
    choose_files(child)
    answer(child, "Sag, front?", "quit")
    ended(child)
    (shop / "riders/ines.toml").rename(shop / "riders/ines_b.toml")
    child = start("jobs/new.toml")
    child.expect_exact("Asked again: ")
    answer(child, "Whose machine", "../riders/ines_b.toml")
    child.expect_exact("Sag, front?")


def test_stopping_before_the_first_answer_leaves_nothing_behind(
    start: Callable[..., Any], shop: Path
) -> None:
    before = set((shop / "jobs").iterdir())
    child = start("jobs/new.toml")
    child.expect_exact(PROMPT)
    until_it_waits(child)
    child.sendintr()
    child.expect_exact("Nothing was answered yet.")
    assert ended(child) == 130
    assert set((shop / "jobs").iterdir()) == before


def test_a_job_that_is_already_there_is_never_written_over(shop: Path, typed: Typed) -> None:
    before = (shop / "jobs/a_more_support.toml").read_text()
    seen = typed("intake", "jobs/a_more_support.toml")
    assert seen.code == 2
    assert "already there; expected a new name" in seen.err
    assert (shop / "jobs/a_more_support.toml").read_text() == before


ANSWERS = """\
title = "From the counter"
rider = "../riders/ines.toml"
bike = "../bikes/oxlip_trail.toml"
damper = "../dampers/tarn_shock.toml"
shelf = "../shelf.csv"
"sag rear" = "27 %"
band = "0.06 to 0.20"
stroke = "compression"
shift = 8
stack = "compression stack"
"""


def test_a_stack_that_nobody_names_leaves_all_of_them_open(shop: Path, typed: Typed) -> None:
    (shop / "counter.toml").write_text(ANSWERS.replace('stack = "compression stack"\n', ""))
    assert typed("intake", "jobs/new.toml", "--answers", "counter.toml").code == 0
    assert read_toml(shop / "jobs/new.toml", JobFile, what="job").work.stack is None


def test_answers_from_a_file_need_no_person(shop: Path, typed: Typed) -> None:
    (shop / "counter.toml").write_text(ANSWERS)
    assert typed("intake", "jobs/new.toml", "--answers", "counter.toml").code == 0
    job = read_toml(shop / "jobs/new.toml", JobFile, what="job")
    assert (job.complaint.from_m_s, job.complaint.to_m_s, job.complaint.shift_percent) == (0.06, 0.2, 8)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (("shift = 8", 'shift = "much"'), "counter.toml: shift: got 'much', expected a number"),
        (("shift = 8", ""), "counter.toml: shift: missing; a job cannot do without it. Add the key."),
        (("shift = 8", "shfit = 8"), "counter.toml: shfit: unknown key. Did you mean 'shift'?"),
        (
            ("shift = 8", "shift = 8\nzzz = 1"),
            "counter.toml: zzz: unknown key. Known keys here: title, rider",
        ),
        (("shift = 8", "shift = [8]"), "counter.toml: shift: got a table, expected one answer"),
        (("shift = 8", "shift = "), "counter.toml: not TOML"),
        (("ines.toml", "nobody.toml"), "counter.toml: rider: "),
    ],
)
def test_a_slip_in_an_answers_file_is_refused_and_nothing_is_written(
    shop: Path, typed: Typed, change: tuple[str, str], text: str
) -> None:
    (shop / "counter.toml").write_text(ANSWERS.replace(*change))
    seen = typed("intake", "jobs/new.toml", "--answers", "counter.toml")
    assert seen.code == 2
    assert text in seen.err
    assert not (shop / "jobs/new.toml").exists()


def test_answers_survive_being_written_and_read_whatever_is_in_them(tmp_path: Path) -> None:
    answers = {"words": 'It "dives", \\ and 50 % of ü', "sag rear": "15 mm shaft", "skipped": ""}
    write_whole(tmp_path / "kept", answers_text(answers))
    assert read_answers(tmp_path / "kept") == answers


def test_a_folder_that_is_not_there_is_said_by_name(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be written"):
        write_whole(tmp_path / "nowhere" / "kept", "x")
