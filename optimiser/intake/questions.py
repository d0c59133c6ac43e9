"""What the shop asks a rider, in order: each question with its reason and with what counts as an answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from optimiser.intake.answer_checks import (
    band,
    chosen,
    number,
    one_of,
    sag,
    tyre_pressure,
    whole,
    words,
    yes,
    yes_or_no,
)
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.other_end import other_end

SKIPPED: Final = ""
"""What stands for a question that was skipped."""

NEW: Final = "new"
"""The answer to one of the questions for a file that enters a new one."""

FILES: Final = ("rider", "bike", "damper", "shelf")
"""Keys of the questions that are answered with a file."""


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask.

    Parameters
    ----------
    key : under which the answer is kept.
    ask : the question.
    why : what it is good for, shown on '?'.
    check : gives the answer in the form in which it is kept, or raises InputError.
    choices : answers to choose from by number; others may be allowed too.
    needed : whether a job cannot do without it; it cannot be skipped.
    how : how to find the answer, in a sentence or a small picture of letters; shown with the question.
    skipped : what is kept when it is skipped.
    taken : says what a kept answer is taken for; nothing where that is plain.
    line : looks at one line of an answer that may go over several, up to an empty one, or raises InputError;
        None where an answer is one line.
    before : gives what is shown before it, as a drawing.
    """

    key: str
    ask: str
    why: str
    check: Callable[[str], str]
    choices: tuple[str, ...] = ()
    needed: bool = False
    how: str = ""
    skipped: str = SKIPPED
    taken: Callable[[str], str] | None = None
    line: Callable[[str], object] | None = None
    before: Callable[[], str] | None = None


@dataclass(frozen=True, slots=True)
class Known:
    """What is known while asking.

    Parameters
    ----------
    vocabulary : the shop's symptoms.
    files : files to choose from, by key.
    check_file : gives the path in the form in which it is kept, by key and text, or raises InputError.
    entry : the questions that enter a new file, by key and answers.
    corners : of the bike that was named; none before.
    stacks : of the damper that was named; none before.
    damper_ends : ends of the bike at which the damper's stroke fits a wheel; none before both are named.
    """

    vocabulary: Vocabulary
    files: Mapping[str, tuple[str, ...]]
    check_file: Callable[[str, str], str]
    entry: Callable[[str, Mapping[str, str]], Iterable[Question]]
    corners: tuple[str, ...] = ()
    stacks: tuple[str, ...] = ()
    damper_ends: tuple[str, ...] = ()


def questions(known: Known, answers: Mapping[str, str]) -> tuple[Question, ...]:
    """The questions in order; later ones depend on what was answered before."""
    return tuple(_questions(known, answers))


def still_needed(asked: tuple[Question, ...], answers: Mapping[str, str]) -> tuple[Question, ...]:
    """Questions that a job cannot do without and that have no answer yet."""
    return tuple(q for q in asked if q.needed and answers.get(q.key, SKIPPED) == SKIPPED)


def _questions(known: Known, answers: Mapping[str, str]) -> Iterator[Question]:
    yield Question("title", "What shall the job be called?", "It heads the build sheet.", words, needed=True)
    for key, ask in zip(
        FILES, ("Whose machine is it?", "Which machine?", "Which damper?", "Which shelf?"), strict=True
    ):
        yield Question(
            key,
            f"{ask} ({key} file, or new)",
            "A job names its files, so that what is known once is not asked again. 'new' enters one that "
            "the shop has no file of.",
            lambda text, key=key: known.check_file(key, text),  # type: ignore[misc]
            choices=(*known.files.get(key, ()), NEW),
            needed=True,
        )
        if answers.get(key) == NEW:
            yield from known.entry(key, answers)
    for corner in known.corners:
        yield from _basics(corner)
    yield Question(
        "hours", "Hours since the damper was serviced?", "Worn oil softens every band.", number(0, 100_000)
    )
    yield Question("words", "What does the rider say, word for word?", "Kept for the sheet.", words)
    yield from _complaint(known, answers)
    if len(known.stacks) > 1:
        yield Question(
            "stack",
            "Which stack may change? (skip for any of them)",
            "Named, it alone is changed. Skipped, the plan says which have to be opened.",
            one_of(known.stacks),
            choices=known.stacks,
        )
    yield Question(
        "changes", "At most how many changes, 0 to 4?", "A change is a shim out, in, or swapped.", whole(0, 4)
    )


def _basics(corner: str) -> Iterator[Question]:
    yield Question(
        f"sag {corner}",
        f"Sag, {corner}? (like 38 mm, 1.5 in, 27 %, or 15 mm shaft)",
        "Sag out of range is the commonest complaint of all, and no shim mends it.",
        sag,
        how="Rider dressed and still: how far the axle sinks from fully out, or the shaft's rubber ring.",
    )
    yield Question(
        f"tyre {corner}",
        f"Tyre pressure, {corner}? (in bar, or like 23 psi)",
        "A tyre is a spring without a damper.",
        tyre_pressure,
        how="Cold, with the gauge that the shop always takes.",
    )
    yield Question(
        f"play {corner}",
        f"Free play, {corner}? (yes or no)",
        "A damper cannot act over a rattle.",
        yes_or_no,
        how="Lift the machine by its seat or bar, a hand on each joint: a knock is play.",
    )
    yield Question(
        f"leaks {corner}", f"Leaks, {corner}? (yes or no)", "Oil outside is no damping.", yes_or_no
    )


def _other_end(known: Known, answers: Mapping[str, str]) -> Iterator[Question]:
    """Ask whether to go on with a symptom that is felt at another end than the damper's."""
    if not answers.get("symptom"):
        return
    elsewhere = other_end(known.vocabulary.symptom(answers["symptom"]).end, known.damper_ends)
    if elsewhere is not None:
        yield Question(
            "other end",
            f"{elsewhere.said} Go on all the same? (yes, or back to choose another)",
            "What changes one end of a machine is felt at the other, but nobody can say how much.",
            yes,
        )


def _complaint(known: Known, answers: Mapping[str, str]) -> Iterator[Question]:
    heard = known.vocabulary.heard_in(answers.get("words", ""))
    hint = f" (heard: {', '.join(row.name for row in heard)})" if heard else ""
    names = tuple(row.name for row in known.vocabulary.symptoms)
    in_numbers = bool(answers.get("band"))
    yield Question(
        "symptom",
        f"Which of these is it? (or skip, and give velocities){hint}",
        "The shop's table turns it into an end, a stroke, a band and a first step.",
        lambda text: known.vocabulary.symptom(chosen(text, names)).name,
        choices=names,
    )
    yield from _other_end(known, answers)
    yield Question(
        "band",
        "Shaft velocities in numbers, in m/s? (like 0.06 to 0.20)",
        "Numbers win over words.",
        band,
        needed=not answers.get("symptom"),
    )
    by_numbers_alone = in_numbers and not answers.get("symptom")
    yield Question(
        "stroke",
        "Which stroke? (compression or rebound)",
        "Wins over the symptom's.",
        one_of(("compression", "rebound")),
        choices=("compression", "rebound"),
        needed=by_numbers_alone,
    )
    yield Question(
        "shift",
        "By how many percent? (like 8 or -10)",
        "Wins over the symptom's first step.",
        number(-90, 400, zero=False),
        needed=by_numbers_alone,
    )
    yield Question(
        "familiarity",
        "How many percent may any force move at most? (100 for no limit)",
        "So that the rider still knows the machine.",
        number(0.1, 100),
    )
