"""Where an intake stands: what was said and still counts, the question that comes next, the basics."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from optimiser.actions.intake_files import bike_of, corners_of, known_of
from optimiser.errors import InputError
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.basics_section import BasicsSection
from optimiser.files.job_writer import job_text
from optimiser.intake.basics import GateResult, check_basics
from optimiser.intake.questions import FILES, NEW, SKIPPED, Question, questions


@dataclass(frozen=True, slots=True)
class IntakeStanding:
    """How far an intake is.

    Parameters
    ----------
    asked : the questions, as far as what was said leads to them.
    answers : those that count, by key, in the order of their questions.
    question : what is to be answered next; None when all is.
    refused : why an earlier answer to that question counts no more; empty otherwise.
    """

    asked: tuple[Question, ...]
    answers: dict[str, str]
    question: Question | None
    refused: str = ""


def kept_answers(job: Path) -> Path:
    """The file that every answer about a job to be goes to at once."""
    return job.with_name(f".{job.name}.answers")


def answer_to(question: Question, text: str) -> str:
    """An answer in the form in which it is kept.

    Raises
    ------
    InputError
        When it is none; or when it was skipped and cannot be.
    """
    skipped = text in {SKIPPED, question.skipped}
    if skipped and question.needed:
        raise InputError("a job cannot do without this.")
    return question.skipped if skipped else question.check(text)


def intake_standing(job: Path, said: Mapping[str, str]) -> IntakeStanding:
    """Hold what was said against the questions, in their order, up to the first that has no answer.

    Parameters
    ----------
    job : the job to be.
    said : everything that was ever said, by key; what no question asks for just now waits.
    """
    answers: dict[str, str] = {}
    known = known_of(job, answers)
    while True:
        asked = questions(known, answers)
        question = next((one for one in asked if one.key not in answers), None)
        if question is None or question.key not in said:
            return IntakeStanding(asked, answers, question)
        try:
            answers[question.key] = answer_to(question, said[question.key])
        except InputError as error:
            return IntakeStanding(asked, answers, question, str(error))
        # Only a file that is named, or is being entered, changes what is known.
        if question.key in FILES or NEW in answers.values():
            known = known_of(job, answers)


def gate_so_far(job: Path, answers: Mapping[str, str]) -> GateResult | None:
    """What the basics say of what was answered; None before a machine is named.

    Parameters
    ----------
    job : the job to be.
    answers : those that count.
    """
    bike = bike_of(job, answers)
    if bike is None:
        return None
    text = job_text(answers, corners=corners_of(job, answers))
    basics = BasicsSection.model_validate(tomllib.loads(text).get("basics", {}))
    return check_basics(machine=bike.machine(), basics=basics.values(), ranges=read_ranges())
