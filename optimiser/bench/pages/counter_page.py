"""The counter: the shop's questions one by one, each kept at once, the verdict of the basics beside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.intake_standing import (
    IntakeStanding,
    answer_to,
    gate_so_far,
    intake_standing,
    kept_answers,
)
from optimiser.actions.intake_writing import write_all
from optimiser.bench.bench import NAME, Bench, NothingThereError, form_of
from optimiser.errors import InputError
from optimiser.files.job_writer import answers_text, read_answers
from optimiser.files.writing import write_whole
from optimiser.intake.answer_checks import LONGEST_ANSWER
from optimiser.intake.questions import SKIPPED, Question

FILED: Final = frozenset({"rider", "bike", "damper", "shelf"})
"""Questions whose answer is a file of the shop, or 'new'."""


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer as the list of answers shows it.

    Parameters
    ----------
    key, ask : of the question.
    said : the answer; empty for a skipped one.
    """

    key: str
    ask: str
    said: str


def begin(bench: Bench, request: Request) -> Response:
    """The page that begins an intake, or goes on with one."""
    waiting = sorted(
        path.name[1 : -len(".toml.answers")] for path in (bench.shop / "jobs").glob(".*.toml.answers")
    )
    return bench.page(request, "counter.jinja", waiting=[name for name in waiting if NAME.fullmatch(name)])


def new(bench: Bench, request: Request) -> Response:
    """Begin a job of a name."""
    name = form_of(request).get("name", "").strip().replace(" ", "_")
    if not NAME.fullmatch(name):
        raise InputError(
            f"name: got {name[:60]!r}, expected up to 60 letters, figures, - and _, for the job's file."
        )
    if name in bench.jobs():
        raise InputError(f"name: got {name!r}, which is there already; expected a new one.")
    place = _place(bench, name)
    place.parent.mkdir(exist_ok=True)
    if not kept_answers(place).exists():
        write_whole(kept_answers(place), answers_text({}))
    return bench.on(f"/counter/{name}")


def show(bench: Bench, request: Request) -> Response:
    """The page of one question."""
    name, job, said = _intake(bench, request)
    standing = intake_standing(job, said)
    again = request.query_params.get("again", "")
    question = next((one for one in standing.asked if one.key == again), standing.question)
    return _page(bench, request, name, job, standing, question, said)


def _page(
    bench: Bench,
    request: Request,
    name: str,
    job: Path,
    standing: IntakeStanding,
    question: Question | None,
    said: Mapping[str, str],
    *,
    typed: str = "",
    refused: str = "",
) -> Response:
    number = 0 if question is None else 1 + [one.key for one in standing.asked].index(question.key)
    before = "" if question is None else standing.answers.get(question.key, said.get(question.key, ""))
    return bench.page(
        request,
        "question.jinja",
        status=422 if refused else 200,
        name=name,
        question=question,
        names={} if question is None else {one: _named(question.key, one) for one in question.choices},
        number=number,
        of=len(standing.asked),
        typed=typed or before,
        refused=refused or standing.refused,
        drawing="" if question is None or question.before is None else question.before(),
        answered=[
            Answered(one.key, one.ask, _named(one.key, standing.answers[one.key]))
            for one in standing.asked
            if one.key in standing.answers
        ],
        gate=gate_so_far(job, standing.answers),
    )


def _named(key: str, said: str) -> str:
    """An answer as people read it: a file by its own name, without the way to it."""
    return PurePosixPath(said).stem.replace("_", " ") if key in FILED else said


def answer(bench: Bench, request: Request) -> Response:
    """Take an answer, or refuse it with the reason."""
    name, job, said = _intake(bench, request)
    form = form_of(request)
    standing = intake_standing(job, said)
    question = next((one for one in standing.asked if one.key == form.get("key")), None)
    if question is None:
        return bench.on(f"/counter/{name}", "That question is not asked any more.", bad=True)
    text = SKIPPED if form.get("do") == "skip" else form.get("answer", "").strip()
    try:
        if len(text) > LONGEST_ANSWER:
            raise InputError(f"got {len(text)} letters, expected at most {LONGEST_ANSWER}.")
        kept = answer_to(question, text)
    except InputError as error:
        return _page(bench, request, name, job, standing, question, said, typed=text, refused=str(error))
    write_whole(kept_answers(job), answers_text({**said, question.key: kept}))
    taken = "" if question.taken is None else question.taken(kept)
    return bench.on(f"/counter/{name}", taken)


def finish(bench: Bench, request: Request) -> Response:
    """Write the job, and every file that was entered with it."""
    name, job, said = _intake(bench, request)
    standing = intake_standing(job, said)
    if standing.question is not None:
        return bench.on(f"/counter/{name}", "A question is still open.", bad=True)
    write_all(job, standing.answers)
    kept_answers(job).unlink(missing_ok=True)
    return bench.on(f"/jobs/{name}", "The job is written. Look at its goal, then search.")


def drop(bench: Bench, request: Request) -> Response:
    """Throw an intake away."""
    _, job, _ = _intake(bench, request)
    kept_answers(job).unlink(missing_ok=True)
    return bench.on("/counter", "Thrown away.")


def _intake(bench: Bench, request: Request) -> tuple[str, Path, dict[str, str]]:
    name = str(request.path_params["job"])
    if not NAME.fullmatch(name) or not kept_answers(_place(bench, name)).is_file():
        raise NothingThereError("got no intake of that name, expected one that was begun at the counter.")
    return name, _place(bench, name), read_answers(kept_answers(_place(bench, name)))


def _place(bench: Bench, name: str) -> Path:
    return bench.shop / "jobs" / f"{name}.toml"


def routes(bench: Bench) -> list[Route]:
    """The addresses of the counter."""
    return [
        Route("/counter", lambda request: begin(bench, request)),
        Route("/counter/new", lambda request: new(bench, request), methods=["POST"]),
        Route("/counter/{job}", lambda request: show(bench, request)),
        Route("/counter/{job}/answer", lambda request: answer(bench, request), methods=["POST"]),
        Route("/counter/{job}/write", lambda request: finish(bench, request), methods=["POST"]),
        Route("/counter/{job}/drop", lambda request: drop(bench, request), methods=["POST"]),
    ]
