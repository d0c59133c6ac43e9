"""A job file from the answers of the guided questions; and the answers themselves, kept as they come."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from optimiser.errors import InputError
from optimiser.files.base import read_text, shown
from optimiser.files.toml_text import tables_of
from optimiser.intake.answer_checks import LONGEST_ANSWER
from optimiser.intake.questions import FILES, SKIPPED

HEAD: Final = "# Written by 'shimwright intake'. A job is a file: edit it as you like.\n"


def job_text(answers: Mapping[str, str], *, corners: Sequence[str]) -> str:
    """The job file that answers amount to; what was skipped is left out."""
    said = {key: value for key, value in answers.items() if value != SKIPPED}
    lines = [HEAD, *(_text(key, said[key]) for key in ("title", *FILES) if key in said)]
    sections = (
        ("[complaint]", list(_complaint(said))),
        ("[basics]", [f"hours_since_service = {said['hours']}"] if "hours" in said else []),
        *(("[[basics.corner]]", _corner(corner, said)) for corner in corners),
        ("[work]", list(_work(said))),
    )
    for head, body in sections:
        if body:
            lines += ["", head, *body]
    return "\n".join(lines) + "\n"


def read_answers(path: Path) -> dict[str, str]:
    """Answers kept by an interrupted run, or written by hand: one 'key = "answer"' a line.

    Raises
    ------
    InputError
        Naming the file, and the key whose answer is no text.
    """
    data = tables_of(
        read_text(path, what="answers"), name=str(path), way_out="Mend that place, or delete the file"
    )
    for key, value in data.items():
        if isinstance(value, (dict, list)):
            raise InputError(f'{path}: {key}: got a table, expected one answer, like {key} = "text".')
    answers = {key: _as_text(value) for key, value in data.items()}
    for key, answer in answers.items():
        if len(answer) > LONGEST_ANSWER:
            raise InputError(
                f"{path}: {key[:40]}: got {len(answer)} characters, expected at most {LONGEST_ANSWER}. "
                "Shorten it."
            )
    return answers


def answers_text(answers: Mapping[str, str]) -> str:
    """Answers as :func:`read_answers` reads them."""
    return "".join(f"{_quoted(key)} = {_quoted(value)}\n" for key, value in answers.items())


def _complaint(said: Mapping[str, str]) -> Iterator[str]:
    for key in ("words", "symptom", "stroke"):
        if key in said:
            yield _text(key, said[key])
    if "band" in said:
        low, high = said["band"].split(" to ")
        yield f"from_m_s = {low}"
        yield f"to_m_s = {high}"
    if "shift" in said:
        yield f"shift_percent = {said['shift']}"
    if "familiarity" in said:
        yield f"familiarity_percent = {said['familiarity']}"


def _corner(corner: str, said: Mapping[str, str]) -> list[str]:
    lines = []
    sag = said.get(f"sag {corner}")
    if sag:
        value, unit = sag.split(" ", 1)
        key = {"mm": "sag_mm", "mm shaft": "sag_shaft_mm", "%": "sag_percent"}[unit]
        lines.append(f"{key} = {value}")
    if f"tyre {corner}" in said:
        lines.append(f"tyre_pressure_bar = {said[f'tyre {corner}']}")
    for word, key in (("play", "free_play"), ("leaks", "leaks")):
        if f"{word} {corner}" in said:
            lines.append(f"{key} = {'true' if said[f'{word} {corner}'] == 'yes' else 'false'}")
    return [_text("name", corner), *lines] if lines else []


def _work(said: Mapping[str, str]) -> Iterator[str]:
    if "stack" in said:
        yield _text("stack", said["stack"])
    if "changes" in said:
        yield f"most_changes = {said['changes']}"


def _text(key: str, value: str) -> str:
    return f"{key} = {_quoted(value)}"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _as_text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return shown(value) if isinstance(value, int) else str(value)
