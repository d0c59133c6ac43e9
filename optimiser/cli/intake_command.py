"""``shimwright intake``: guided questions that end in a job file; stop when you like, nothing is lost."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from optimiser.cli.saying import say
from optimiser.errors import InputError
from optimiser.report.printable import printable

if TYPE_CHECKING:
    from optimiser.intake.questions import Question

KEPT: Final = "What you answered is kept in {place}. Run the same command to go on."


@click.command("intake")
@click.argument("job", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--answers",
    "given",
    type=click.Path(path_type=Path, dir_okay=False),
    help='Take the answers from a file (one key = "answer" a line) and ask nothing.',
)
def command(job: Path, given: Path | None) -> int:
    """Ask about rider, machine and complaint, and write the job file JOB.

    Type 'back' to go back, 'skip' or nothing to skip, '?' to hear why it is asked, 'quit' to stop. Every
    answer is kept at once; running the same command again goes on where you stopped.

    Example: shimwright intake jobs/new.toml
    """
    from optimiser.files.job_writer import read_answers

    if job.exists():
        raise InputError(
            f"{job}: already there; expected a new name. Edit that file, or choose another name."
        )
    if not job.parent.is_dir():
        raise InputError(
            f"{job}: there is no folder {job.parent}; expected one to write the job to. Make it first."
        )
    if given is not None:
        return _from_file(job, read_answers(given), given)
    kept = job.with_name(f".{job.name}.answers")
    answers = _still_good(job, read_answers(kept)) if kept.exists() else {}
    if answers:
        say(f"Going on where you stopped: {len(answers)} answers kept.")
    say(
        "'back' goes back, 'skip' or Enter skips, '?' says why, 'quit' stops. Every answer is kept at once.\n"
    )
    try:
        _ask_all(job, kept, answers)
    except (click.Abort, KeyboardInterrupt, EOFError):
        say("\n" + (KEPT.format(place=kept) if kept.exists() else "Nothing was answered yet."))
        return 130
    except _QuitError:
        say(KEPT.format(place=kept) if kept.exists() else "Nothing was answered yet.")
        return 0
    _finish(job, answers)
    kept.unlink(missing_ok=True)
    return 0


class _QuitError(Exception):
    """The user wants to stop here."""


def _ask_all(job: Path, kept: Path, answers: dict[str, str]) -> None:
    from optimiser.cli.intake_files import known_of
    from optimiser.files.job_writer import answers_text
    from optimiser.files.writing import write_whole
    from optimiser.intake.questions import SKIPPED, questions, still_needed

    shown: list[str] = []
    while True:
        asked = questions(known_of(job, answers), answers)
        open_ones = [q for q in asked if q.key not in answers] or list(still_needed(asked, answers))
        if not open_ones:
            return
        if all(q.key in answers for q in asked):
            say("A job cannot do without this:")
        question = open_ones[0]
        word = _ask(question)
        if word == "back":
            _step_back(shown, answers)
            continue
        answers[question.key] = SKIPPED if word is None else word
        if question.key == "damper":
            answers.pop("stack", None)
        shown.append(question.key)
        write_whole(kept, answers_text(answers))


def _still_good(job: Path, kept: dict[str, str]) -> dict[str, str]:
    """Answers of an earlier run that still hold; a file may have moved since."""
    from optimiser.cli.intake_files import known_of
    from optimiser.intake.questions import SKIPPED, questions

    answers: dict[str, str] = {}
    dropped: set[str] = set()
    while True:
        asked = questions(known_of(job, answers), answers)
        fresh = [q for q in asked if q.key in kept and q.key not in answers and q.key not in dropped]
        if not fresh:
            return answers
        key, text = fresh[0].key, kept[fresh[0].key]
        try:
            answers[key] = fresh[0].check(text) if text != SKIPPED else SKIPPED
        except InputError as error:
            say(f"Asked again: {error}")
            dropped.add(key)


def _step_back(shown: list[str], answers: dict[str, str]) -> None:
    previous = shown.pop() if shown else next(reversed(answers), None)
    if previous is None:
        say("This is the first question.")
    else:
        say(f"Back. It was: {answers[previous] or 'skipped'}")
        del answers[previous]


def _ask(question: Question) -> str | None:
    """An answer in the form in which it is kept, 'back', or None for skipped; asks until it has one."""
    from optimiser.intake.answer_checks import LONGEST_ANSWER

    for number, choice in enumerate(question.choices, start=1):
        say(f"  {number:2}  {choice}")
    while True:
        try:
            text: str = click.prompt(
                printable(question.ask), default="", show_default=False, prompt_suffix=" > "
            )
        except UnicodeDecodeError:
            say("  got bytes that are no text, expected letters; is the terminal set to UTF-8?")
            continue
        word = text.strip().lower()
        if word == "quit":
            raise _QuitError
        if word == "back":
            return "back"
        if word in {"", "skip"}:
            return None
        if word == "?":
            say(f"  {question.why}")
            continue
        if len(text) > LONGEST_ANSWER:
            say(f"  got {len(text)} letters, expected at most {LONGEST_ANSWER}.")
            continue
        try:
            return question.check(text)
        except InputError as error:
            say(f"  {error}")


def _from_file(job: Path, given: dict[str, str], source: Path) -> int:
    from optimiser.cli.intake_files import known_of
    from optimiser.intake.questions import SKIPPED, questions, still_needed

    answers: dict[str, str] = {}
    while True:
        asked = questions(known_of(job, answers), answers)
        fresh = [q for q in asked if q.key not in answers]
        if not fresh:
            break
        question = fresh[0]
        text = given.get(question.key, SKIPPED)
        try:
            answers[question.key] = question.check(text) if text != SKIPPED else SKIPPED
        except InputError as error:
            raise InputError(f"{source}: {question.key}: {error}") from None
    unknown = sorted(set(given) - {q.key for q in asked})
    if unknown:
        known = ", ".join(q.key for q in asked)
        raise InputError(f"{source}: {unknown[0]}: unknown key. Known keys here: {known}.")
    missing = still_needed(asked, answers)
    if missing:
        raise InputError(f"{source}: {missing[0].key}: missing; a job cannot do without it. Add the key.")
    _finish(job, answers)
    return 0


def _finish(job: Path, answers: dict[str, str]) -> None:
    from optimiser.cli.intake_files import corners_of
    from optimiser.files.base import read_toml
    from optimiser.files.job_file import JobFile
    from optimiser.files.job_writer import job_text
    from optimiser.files.writing import write_whole

    text = job_text(answers, corners=corners_of(job, answers))
    draft = job.with_name(f".{job.name}.draft")
    write_whole(draft, text)
    try:
        read_toml(draft, JobFile, what="job")
        draft.replace(job)
    finally:
        draft.unlink(missing_ok=True)
    say(f"\nWrote {job}. Next: shimwright plan {job}")
