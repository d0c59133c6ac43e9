"""What became of the wish that all limits hold in most dampers built like this, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from optimiser.jobs.planned import Planned
from optimiser.report.candidates import changes_text
from optimiser.report.ladder_text import effort_words
from optimiser.report.sure_text import carrier_words, chance_text


def confidence_words(planned: Planned) -> Iterator[str]:
    """What was asked, what was found, what of it is proven, and what would help.

    Parameters
    ----------
    planned : the job and its answer.
    """
    one = planned.confidence
    if one is None:
        return
    asked = f"Asked for: all limits hold in {chance_text(one.level)} dampers built like this."
    left = ""
    if one.unsure:
        stacks = "1 stack or setting" if one.unsure == 1 else f"{one.unsure} stacks or settings"
        left = (
            f" {stacks} met on the way would do in the damper as its file has it, and not in as many others."
        )
    if one.changes is not None and planned.answer is not None:
        first = planned.sure.of(planned.answer.candidates[0])
        stated = (
            "" if first is None else f" On {first.draws} fresh draws they hold in {chance_text(first.chance)}"
        )
        short = "." if one.reached else ": fewer than asked; ask for a little less, or take it as it is."
        fewer = "less effort is proven not to do" if one.proven else "less effort is not ruled out"
        effort = effort_words(one.changes).capitalize()
        judged = "judged by one sample of drawn dampers"
        yield f"{asked} {effort} will do; {fewer}, {judged}.{stated}{short}{left}"
        return
    within = effort_words(planned.job.work.most_changes)
    proven = "proven, judged by one sample of drawn dampers" if one.proven else "not proven: time ran out"
    yield f"{asked} Nothing within {within} was found that does ({proven}).{left}"
    spread = None if one.surest is None else planned.sure.of(one.surest)
    if one.surest is not None and spread is not None:
        yield (
            f"The surest found: {changes_text(one.surest)}, where all limits hold in "
            f"{chance_text(spread.chance)}."
        )
        if spread.carriers:
            named = "; ".join(carrier_words(carrier) for carrier in spread.carriers)
            yield f"What would make it surer, most first: {named}."
