"""The questions that enter a new rider, machine or damper, by its kind; each answer held against the rest."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from optimiser.errors import InputError
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_builder import described
from optimiser.files.damper_file import DamperFile
from optimiser.files.entry.filling import NONE, NOT_KNOWN, figure_parts, filled
from optimiser.files.entry.form_file import FigureSection, Form, forms_of
from optimiser.files.entry.places import file_of
from optimiser.files.entry.readings import each_shim
from optimiser.files.entry.stroke import STROKE, for_machine, other_stroke
from optimiser.files.entry.usual import part_words
from optimiser.files.not_measured import words_of
from optimiser.files.rider_file import RiderFile
from optimiser.intake.answer_checks import one_of, yes
from optimiser.intake.questions import SKIPPED, Question

MODELS: Final[Mapping[str, type[RiderFile | BikeFile | DamperFile]]] = {
    "rider": RiderFile,
    "bike": BikeFile,
    "damper": DamperFile,
}
"""What is entered by a kind, and the model of its file."""

CALLED: Final = {"rider": "rider", "bike": "machine", "damper": "damper"}

UNKNOWN: Final = frozenset({"not known", "unknown", "don't know", "dont know", "no idea"})

READ_OUT: Final = frozenset({"length", "weight", "pressure", "oil", "ports"})
"""What is said back in the units of the files."""

MEND: Final = "If it is right, type 'back' and mend the one before that it does not go with."


@dataclass(frozen=True, slots=True)
class NewFile:
    """One new file on its way.

    Parameters
    ----------
    key : rider, bike or damper.
    shop : the shop's folder.
    answers : all that was said, by key.
    machine : the one that a damper is for, which says how far it moves the shaft; None when not known.
    """

    key: str
    shop: Path
    answers: Mapping[str, str]
    machine: BikeFile | None = None

    @property
    def form(self) -> Form | None:
        """Its kind; None before it was said."""
        forms = forms_of(self.key, self.shop)
        said = forms[0].name if len(forms) == 1 else self.answers.get(f"{self.key} kind", "")
        form = next((form for form in forms if form.name == said), None)
        return form if form is None else for_machine(form, self.machine)

    @property
    def own(self) -> dict[str, str]:
        """What was said of it, by figure."""
        front = f"{self.key} "
        return {key.removeprefix(front): text for key, text in self.answers.items() if key.startswith(front)}

    def tables(self) -> dict[str, Any] | None:
        """The tables of its file, with what was not measured; None before its kind was said."""
        form = self.form
        return None if form is None else tables_of(self.key, form, self.own)

    def file(self) -> RiderFile | BikeFile | DamperFile | None:
        """Its file as far as answers go; None before its kind was said."""
        tables = self.tables()
        return None if tables is None else MODELS[self.key].model_validate(tables)

    def questions(self, draw: Callable[[DamperFile], str]) -> Iterator[Question]:
        """Its questions in order; ``draw`` shows a damper before the last one."""
        forms, called = forms_of(self.key, self.shop), CALLED[self.key]
        names = tuple(form.name for form in forms)
        if len(forms) > 1:
            yield Question(
                f"{self.key} kind",
                f"What kind of {called} is it?",
                "The kind says what to ask, and what is usual where something cannot be measured.",
                one_of(names),
                choices=names,
                needed=True,
            )
        form = self.form
        if form is None:
            return
        if self.own.keys() <= {"kind"}:
            refuse_useless(self.key, form)
        about: Callable[[], str] | None = (lambda: form.about) if form.about else None
        for figure in form.figures:
            if figure.ask and self.own.get(figure.belongs_to or "") != NONE:
                yield self._question(form, figure, about)
                about = None
        if self.key == "damper":
            yield Question(
                "damper drawn",
                "Is it so, shim by shim? (yes, or back)",
                "A slip in a stack is found now, beside the open damper, or never.",
                _right,
                needed=True,
                before=lambda: draw(DamperFile.model_validate(self.tables())),
            )

    def _question(self, form: Form, figure: FigureSection, about: Callable[[], str] | None) -> Question:
        needed = figure.not_known == "needed"
        return Question(
            f"{self.key} {figure.key}",
            figure.ask,
            figure.why,
            lambda text: self._checked(form, figure, text),
            needed=needed,
            how=figure.how,
            skipped=SKIPPED if needed else NOT_KNOWN,
            taken=lambda kept: self._taken(form, figure, kept),
            line=self._line(form, figure),
            before=about,
        )

    def _line(self, form: Form, figure: FigureSection) -> Callable[[str], object] | None:
        """What looks at one line of a stack; None for a figure that has no lines."""
        if figure.hole is None:
            return None
        hole = next(one for one in form.figures if one.key == figure.hole)
        said = self.own.get(hole.key) or NOT_KNOWN
        width = figure_parts(form, hole, {**self.own, hole.key: said})[""].value
        return lambda text: each_shim(text, hole=width)

    def _checked(self, form: Form, figure: FigureSection, text: str) -> str:
        """The answer as it is kept; it fits what was said before."""
        word = text.strip() if figure.reads == "stack" else " ".join(text.split())
        if word.lower() in UNKNOWN:
            if figure.not_known == "needed":
                raise InputError(f"got {word!r}, expected an answer: nothing can be planned without it.")
            return NOT_KNOWN
        if word.lower() in {NONE, "no"} and figure.may_be_none:
            word = NONE
        own = {**self.own, figure.key: word}
        if word != NONE:
            found = figure_parts(form, figure, own)
            if figure.reads == "stack":
                word = ", ".join(found[""].value)
            if figure.reads == "name":
                self._refuse_taken_name(word)
        self._refuse_what_does_not_fit(form, own, word)
        return word

    def _refuse_taken_name(self, name: str) -> None:
        place = file_of(self.key, name, self.shop)
        if place.exists():
            raise InputError(
                f"got {name!r}, and {place} is there already; expected another name. Or type 'back' and "
                "choose that file."
            )

    def _refuse_what_does_not_fit(self, form: Form, own: Mapping[str, str], word: str) -> None:
        try:
            file = MODELS[self.key].model_validate(tables_of(self.key, form, own))
        except ValidationError as error:
            expected = _expectation(error)
            end = "" if expected.endswith("?") else "."
            raise InputError(f"got {word!r}, expected {expected}{end} {MEND}") from None
        if isinstance(file, DamperFile):
            faults = [fault for one in described(file, source="").stacks for fault in one.faults]
            if faults:
                raise InputError(f"got {word!r}, expected what can be built. {faults[0]} {MEND}")

    def _taken(self, form: Form, figure: FigureSection, kept: str) -> str:
        """What an answer was understood as, where it does not say so itself."""
        if kept == NONE or (kept != NOT_KNOWN and figure.reads not in READ_OUT):
            return ""
        if kept == NOT_KNOWN and figure.not_known == "left out":
            return "Left out."
        parts = figure_parts(form, figure, {**self.own, figure.key: kept})
        other = other_stroke(form, self.machine, stroke=parts[""].value) if figure.key == STROKE else ""
        if other:
            return other
        understood = part_words(figure.reads, parts)
        if kept == NOT_KNOWN:
            return f"Not measured: {understood}, give or take {figure.off_percent:g} %; the file says so."
        off = max((part.off for part in parts.values() if part.off is not None), default=None)
        if off is not None:
            return f"Taken as {understood}, give or take {off:g} %; the file says so."
        return "" if understood.split()[0] == kept.split(maxsplit=1)[0] else f"That is {understood}."


def refuse_useless(key: str, form: Form) -> None:
    """Refuse a kind whose usual values alone fill no file that its reader takes.

    Raises
    ------
    InputError
        Naming the kind's file.
    """
    try:
        MODELS[key].model_validate(tables_of(key, form, {}))
    except ValidationError as error:
        raise InputError(
            f"{form.source}: what is usual makes no {CALLED[key]}: "
            f"expected {_expectation(error)}. Mend the file."
        ) from None


def _right(text: str) -> str:
    """Check for a yes to the drawing; a no has a place to go back to."""
    if text.strip().lower() in {"n", "no"}:
        raise InputError(
            f"got {text!r}, expected yes. Type 'back' and a word of the question to answer anew, "
            "like 'back rebound stack'."
        )
    return yes(text)


def tables_of(key: str, form: Form, own: Mapping[str, str]) -> dict[str, Any]:
    """The tables of a new file, as far as answers go.

    Raises
    ------
    InputError
        When an answer cannot be read.
    """
    filling = filled(form, own)
    if key == "rider" or not filling.not_measured:
        return filling.tables
    return {**filling.tables, "not_measured": filling.not_measured}


def _expectation(error: ValidationError) -> str:
    """What was expected, with keys of the file as a person says them."""
    fault = error.errors()[0]
    said = fault["msg"].removeprefix("Value error, ").removeprefix("Input should be ").rstrip(".")
    field = str(fault["loc"][-1]) if fault["loc"] and isinstance(fault["loc"][-1], str) else ""
    plain = re.sub(r"\b[a-z]+(?:_[a-z0-9]+)+\b", lambda key: words_of(key[0]), said)
    return f"{words_of(field)} of {plain}" if field and not plain.startswith(words_of(field)) else plain
