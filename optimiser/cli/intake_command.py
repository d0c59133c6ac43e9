"""``shimwright intake``: guided questions that end in a job file; stop when you like, nothing is lost."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from optimiser.cli.intake_asking import Asking, QuitError
from optimiser.cli.saying import say
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.intake.questions import Question

HELP: Final = """\
'back' goes back and keeps what was said ('back sag' to the question about sag), 'skip' or Enter skips,
'not known' where something cannot be measured, '?' says why it is asked, 'quit' stops. Every answer is kept.
"""

SLIP: Final = 0.8
"""How alike a key is to the one that was meant. [-]"""

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
    """Ask about rider, machine, damper, shelf and complaint, and write the job file JOB.

    A rider, machine, damper or shelf that the shop has no file of is entered with 'new': from calipers, scale
    and clock, in mm or inches, bar or psi, kg or lb. New files are written at the end, with the job.

    Type 'back' to go back without losing anything, 'skip' or nothing to skip, 'not known' where something
    cannot be measured, '?' to hear why it is asked, 'quit' to stop. Every answer is kept at once; running the
    same command again goes on where you stopped.

    Example: shimwright intake jobs/new.toml
    """
    from optimiser.actions.intake_standing import kept_answers
    from optimiser.files.job_writer import read_answers

    if job.exists():
        raise InputError(
            f"{job}: already there; expected a new name. Edit that file, or choose another name."
        )
    _make_folder(job.parent)
    if given is not None:
        return _from_file(job, read_answers(given), given)
    kept = kept_answers(job)
    said = read_answers(kept) if kept.exists() else {}
    if said:
        say(f"Going on where you stopped: {len(said)} answers kept.")
    say(HELP)
    asking = Asking(job, kept, said)
    try:
        answers = asking.ask_all()
    except (click.Abort, KeyboardInterrupt, EOFError):
        say("\n" + (KEPT.format(place=kept) if kept.exists() else "Nothing was answered yet."))
        return 130
    except QuitError:
        say(KEPT.format(place=kept) if kept.exists() else "Nothing was answered yet.")
        return 0
    _finish(job, answers)
    kept.unlink(missing_ok=True)
    return 0


def _make_folder(folder: Path) -> None:
    """The folder of a first job is made; one in a folder that is not there either is a slip."""
    if folder.is_dir():
        return
    if not folder.parent.is_dir():
        raise InputError(f"{folder}: there is no folder {folder.parent}; expected one. Make it first.")
    try:
        folder.mkdir()
    except OSError as error:
        raise InputError(f"{folder}: cannot be made ({error.strerror}). Name another folder.") from None


def _from_file(job: Path, given: dict[str, str], source: Path) -> int:
    from optimiser.actions.intake_files import known_of
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
            answers[question.key] = question.skipped if text == SKIPPED else question.check(text)
        except InputError as error:
            raise InputError(f"{source}: {question.key}: {error}") from None
    unknown = sorted(set(given) - {q.key for q in asked})
    if unknown:
        # A question that others follow, left out, makes theirs unknown; a slip in its key does, too.
        if not any(get_close_matches(one.key, unknown, cutoff=SLIP) for one in still_needed(asked, answers)):
            _refuse_what_is_missing(asked, answers, source)
        known = [q.key for q in asked]
        near = get_close_matches(unknown[0], known, n=1)
        hint = f"Did you mean '{near[0]}'?" if near else f"Known keys here: {', '.join(known)}."
        raise InputError(f"{source}: {unknown[0]}: unknown key. {hint}")
    _refuse_what_is_missing(asked, answers, source)
    _finish(job, answers)
    return 0


def _finish(job: Path, answers: dict[str, str]) -> None:
    from optimiser.actions.intake_writing import write_all

    written = write_all(job, answers)
    _say_band(job)
    say(f"\nWrote {', '.join(map(str, written))}. Next: shimwright plan {job}")


def _say_band(job: Path) -> None:
    """What a ride of the event behind the words says of their band; a fault of the files is said by plan."""
    from damping_model.errors import ModelError
    from optimiser.files.job_reader import read_job
    from optimiser.jobs.ride_band import band_advice

    try:
        advice = band_advice(read_job(job))
    except (InputError, ModelError):
        return
    if advice is not None:
        say(f"\n{advice}")


def _refuse_what_is_missing(asked: tuple[Question, ...], answers: dict[str, str], source: Path) -> None:
    """Name the first question that has to be answered and was not."""
    from optimiser.intake.questions import still_needed

    missing = still_needed(asked, answers)
    if missing:
        raise InputError(f"{source}: {missing[0].key}: missing; a job cannot do without it. Add the key.")
