"""Whether oil would boil at lower speeds with what is recommended: bands end before, so no window sees it."""

from __future__ import annotations

from typing import Final

from damping_model.damper.force import boiling_between
from damping_model.stack.steel import SpringSteel
from optimiser.intake.bands import SIGN, Stroke
from optimiser.intake.goal_builder import BOTH_STROKES, FAMILIAR_SPAN
from optimiser.intake.promise import boiling_words, remedy_words
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Candidate
from optimiser.model.damper_description import with_stack

SOONER: Final = 0.99
"""Share of the speed at which oil boils now below which it boils sooner. [-]"""


def boils_sooner(setup: JobSetup, one: Candidate | None) -> tuple[str, ...]:
    """A sentence for each stroke in which oil would boil at a lower speed than it does as the damper is.

    Parameters
    ----------
    setup : the job.
    one : the stack and setting that are recommended; None for none.
    """
    if one is None:
        return ()
    return tuple(filter(None, (_sooner(setup, one, stroke) for stroke in BOTH_STROKES)))


def _sooner(setup: JobSetup, one: Candidate, stroke: Stroke) -> str:
    damper, sign = setup.job.damper.damper, SIGN[stroke]
    settings = setup.physics.settings
    spans = [span for span in setup.asked.goal.spans if sign * span[1] > 0]
    fastest = max([FAMILIAR_SPAN[1], *(abs(end) for span in spans for end in span)])
    now, then = (
        boiling_between(
            stack,
            (sign * FAMILIAR_SPAN[0], sign * fastest),
            temperature=setup.job.work.temperature,
            clicks=settings[setting],
            steel=SpringSteel(),
        )
        for stack, setting in (
            (damper, setup.physics.setting),
            (with_stack(damper, setup.mounted.name, one.stack), one.setting),
        )
    )
    if not then or (now and then[0].slowest >= SOONER * now[0].slowest):
        return ""
    as_it_is = f"as it is from {now[0].slowest:.2g} m/s on" if now else "as it is nowhere"
    return (
        f"Beyond the bands, {boiling_words(then[0], to=fastest)} with what is recommended; {as_it_is} "
        f"(looked at up to {fastest:.2g} m/s). {remedy_words(then)}"
    )
