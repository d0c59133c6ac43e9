"""The guided questions at a terminal: back without losing anything, every answer kept at once."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from optimiser.cli.saying import say
from optimiser.errors import InputError
from optimiser.report.printable import printable

if TYPE_CHECKING:
    from optimiser.intake.questions import Question

BACK: Final = "back"
MOST_LINES: Final = 200
"""Of one answer."""


class QuitError(Exception):
    """The user wants to stop here."""


@dataclass(frozen=True, slots=True)
class _Back:
    """The user wants to go back, to the last question with these words in it; to the one before for none."""

    words: str


class Asking:
    """One round of questions about a job.

    Parameters
    ----------
    job : the job to be.
    kept : the file that every answer goes to at once.
    said : the answers of an earlier run.
    """

    def __init__(self, job: Path, kept: Path, said: dict[str, str]) -> None:
        self.job, self.kept = job, kept
        self.answers: dict[str, str] = {}
        """Those that count, in the order of their questions."""
        self.said = said
        """Everything that was ever said; what no question asks for just now waits here."""

    def ask_all(self) -> dict[str, str]:
        """Ask until every question has its answer.

        Raises
        ------
        QuitError
            When the user wants to stop.
        """
        from optimiser.actions.intake_files import known_of
        from optimiser.intake.questions import questions

        again: str | None = None
        while True:
            asked = questions(known_of(self.job, self.answers), self.answers)
            keys = [question.key for question in asked]
            if again is None and (waiting := next((key for key in keys if key not in self.answers), None)):
                if waiting in self.said and self._still_holds(asked[keys.index(waiting)]):
                    continue
                place = keys.index(waiting)
            elif again in keys:
                place = keys.index(again)
            else:
                return self.answers
            question = asked[place]
            before = self.answers.get(question.key)
            word = _ask(question, before=before if again else None)
            if isinstance(word, _Back):
                again = self._back(asked[:place], word.words) or again
                continue
            again = None
            if word != before:
                self._take(question.key, word, later=keys[place + 1 :] if before is not None else [])

    def _take(self, key: str, word: str, *, later: list[str]) -> None:
        """Keep an answer; those behind a changed one are held against it before they count again."""
        from optimiser.files.job_writer import answers_text
        from optimiser.files.writing import write_whole

        self.answers[key] = self.said[key] = word
        for behind in later:
            self.answers.pop(behind, None)
        write_whole(self.kept, answers_text(self.said))

    def _still_holds(self, question: Question) -> bool:
        """Take over what was said earlier, if it is an answer still."""
        from optimiser.actions.intake_standing import answer_to

        text = self.said[question.key]
        if question.needed and text == "":
            return False
        try:
            self.answers[question.key] = answer_to(question, text)
        except InputError as error:
            say(f"Asked again: {error}")
            del self.said[question.key]
            return False
        return True

    def _back(self, before: tuple[Question, ...], words: str) -> str | None:
        """The question to go back to: the one before, or the last before that has the words in it."""
        found = [one for one in before if words.lower() in f"{one.key} {one.ask}".lower()]
        if not before:
            say("This is the first question.")
        elif not found:
            say(f"No question before has {words!r} in it.")
        else:
            return found[-1].key
        return None


def _ask(question: Question, *, before: str | None) -> str | _Back:
    """An answer in the form in which it is kept, or the way back; asks until it has one.

    Parameters
    ----------
    question : what to ask.
    before : what was said when it was asked before; Enter keeps it. None when it is asked for the first time.
    """
    from optimiser.intake.answer_checks import words

    if before is not None:
        say(f"Back. It was: {before or 'skipped'} (Enter keeps it)")
    if question.before is not None:
        say(question.before())
    for number, choice in enumerate(question.choices, start=1):
        say(f"  {number:2}  {choice}")
    if question.how:
        say("\n".join(f"  {line}" for line in question.how.splitlines()))
    while True:
        text = _typed(question)
        word = " ".join(text.lower().split())
        if word == "quit":
            raise QuitError
        # A rider may well say 'back end swaps': in free words only the word alone goes back.
        if word == BACK or (word.startswith(f"{BACK} ") and question.check is not words):
            return _Back(word.removeprefix(BACK).strip())
        if word == "" and before is not None:
            return before
        if word == "?":
            say(f"  {question.why}")
            continue
        answer = _answered(question, text, skip=word in {"", "skip"})
        if answer is not None:
            return answer


def _answered(question: Question, text: str, *, skip: bool) -> str | None:
    """An answer as it is kept, what stands for a skipped one, or None with the reason said."""
    if skip and question.needed:
        say("  A job cannot do without this. 'quit' keeps what was said; the same command goes on here.")
        return None
    try:
        answer = question.skipped if skip else question.check(text)
    except InputError as error:
        say(f"  {error}")
        return None
    if question.taken is not None and (taken := question.taken(answer)):
        say(f"  {taken}")
    return answer


def _typed(question: Question) -> str:
    """What was typed: a line, or for some questions all up to an empty one."""
    from optimiser.intake.answer_checks import LONGEST_ANSWER

    ask = printable(question.ask)
    line = _line(ask)
    if question.line is None:
        return line
    lines: list[str] = []
    while _is_content(line) or lines:
        word = line.strip().lower()
        if word == BACK and lines:
            say(f"  Taken back: {lines.pop()}")
        elif word == "" or len(lines) == MOST_LINES:
            break
        elif not _is_content(line):
            return line
        elif sum(map(len, [*lines, line])) > LONGEST_ANSWER:
            say(f"  got more than {LONGEST_ANSWER} letters in all, expected fewer. This line is not taken.")
        elif _can_be_read(question.line, line):
            lines.append(line)
        line = _line("  more, or Enter" if lines else ask)
    return "\n".join(lines) or line


def _is_content(line: str) -> bool:
    """Whether a line is part of an answer over several, and no word that steers."""
    word = line.strip().lower()
    return word not in {"", "quit", "skip", "?", "none", "no", "not known"} and not word.startswith(BACK)


def _can_be_read(check: Callable[[str], object], line: str) -> bool:
    """Whether one line of an answer is taken; else why not, and lines pasted behind it are let go."""
    try:
        check(line)
    except InputError as error:
        say(f"  {error} This line is not taken; the ones before are. Go on from here.")
        _forget_typed_ahead()
        return False
    return True


def _forget_typed_ahead() -> None:
    """Throw away what a terminal still holds: a paste goes on behind a line that was refused."""
    if os.name == "posix" and sys.stdin.isatty():
        import termios

        termios.tcflush(sys.stdin, termios.TCIFLUSH)


def _line(ask: str) -> str:
    """One line, short enough and of letters."""
    from optimiser.intake.answer_checks import LONGEST_ANSWER

    while True:
        try:
            line: str = click.prompt(ask, default="", show_default=False, prompt_suffix=" > ")
        except UnicodeDecodeError:
            say("  got bytes that are no text, expected letters; is the terminal set to UTF-8?")
            continue
        if len(line) <= LONGEST_ANSWER:
            return line
        say(f"  got {len(line)} letters, expected at most {LONGEST_ANSWER}.")
