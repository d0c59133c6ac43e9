"""Stacks that do what is asked and are left out all the same, in a sentence."""

from __future__ import annotations

from optimiser.model.answer import Answer
from optimiser.model.objection import LeftOut, Objection

SHORT = {
    Objection.BOILS: "oil would boil inside a band with it",
    Objection.OVERSTRESSED: "a shim of it is stressed beyond the limit",
    Objection.UNSURE: "too few dampers built like this keep all limits with it",
}
"""What speaks against the one stack that is shown."""


def left_out_words(answer: Answer) -> str:
    """How many stacks were left out and why, in sentences; empty when none was."""
    nearer = " ".join(_parts(answer.nearer_left_out, "come nearer", "comes nearer"))
    return f"{meeting_left_out(answer.left_out)} {nearer}".strip()


def meeting_left_out(left_out: LeftOut) -> str:
    """How many of those that meet the goal were left out and why; empty when none was."""
    return " ".join(_parts(left_out, "meet the goal", "meets the goal"))


def further_left_out(left_out: LeftOut) -> str:
    """The same of stacks that move a band further than the ends that are shown."""
    return " ".join(_parts(left_out, "go further", "goes further"))


def condition(left_out: LeftOut) -> str:
    """What a proof is limited to when stacks that meet the goal were left out; empty when none was."""
    conditions = []
    if left_out.boiling:
        conditions.append("oil that does not boil")
    if left_out.overstressed:
        conditions.append("no shim stressed beyond what is allowed")
    if left_out.unsure:
        conditions.append("the chance that was asked")
    return f" with {' and '.join(conditions)}" if conditions else ""


def _parts(left_out: LeftOut, plural: str, singular: str) -> list[str]:
    said = []
    for count, why, whys in (
        (left_out.boiling, "its oil would boil inside a band", "their oil would boil inside a band"),
        (
            left_out.overstressed,
            "it stresses a shim beyond what is allowed",
            "they stress a shim beyond what is allowed",
        ),
        (
            left_out.unsure,
            "too few dampers built like this keep all limits with it",
            "too few dampers built like this keep all limits with them",
        ),
    ):
        if count == 1:
            said.append(f"Left out: 1 stack or setting that {singular}, since {why}.")
        elif count:
            said.append(f"Left out: {count} stacks or settings that {plural}, since {whys}.")
    return said
