"""How sure a plan is: every candidate and every step of effort in thousands of dampers built like this."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from damping_model.errors import ModelError
from optimiser.allocation.real_shims import RealShims
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Candidate
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.spread import DRAWS, Spread, spreads
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Knowledge

STATED_ON: Final = 2026
"""Seed of the sample that chances are stated on: the same plan says the same every time."""


@dataclass(frozen=True, slots=True)
class HowSure:
    """How surely each stack of a plan does what is promised.

    Parameters
    ----------
    of_built : by what is built.
    """

    of_built: Mapping[Built, Spread]

    def of(self, candidate: Candidate) -> Spread | None:
        """Of one candidate; None where it was not looked into."""
        return self.of_built.get(built(candidate))


NOT_SAID: Final = HowSure({})
"""Of a plan without candidates, or one that was stopped."""


def built(candidate: Candidate) -> Built:
    """What is there once a candidate is built."""
    return Built(candidate.stack, candidate.setting)


def known_of(setup: JobSetup) -> Knowledge:
    """What is known of the figures of a job's damper, and of the shims that may come into it.

    After a fit to dyno runs that is in use, what those tell. A shim that was measured counts as what it
    measured.
    """
    stock = setup.stock
    comes = {key.shim.thickness for key in stock.counts if key not in stock.nominal}
    unknowns = damper_unknowns(setup.job.damper, comes=comes)
    return Knowledge.of(unknowns, learnt=setup.job.knowledge)


def drawn_forces(setup: JobSetup) -> DrawnForces:
    """The damper of a job, ready to be drawn again and again.

    Raises
    ------
    ModelError
        When it cannot be computed with every figure where it most likely is.
    """
    return DrawnForces(
        setup.job.damper.damper,
        stack_name=setup.mounted.name,
        velocities=setup.asked.goal.velocities,
        settings=setup.physics.settings,
        directions=Directions.of(known_of(setup)),
        temperature=setup.job.work.temperature,
        steel=setup.physics.steel,
    )


def how_sure(
    setup: JobSetup,
    candidates: Iterable[Candidate],
    *,
    should_stop: Callable[[], bool],
    draws: int = DRAWS,
    real: Mapping[Candidate, RealShims] | None = None,
) -> HowSure:
    """How surely candidates do what is promised.

    Parameters
    ----------
    setup : of the job.
    candidates : those that are shown; one that is there twice is looked into once.
    should_stop : asked between stacks; once it says so nothing is known.
    draws : how many dampers are drawn.
    real : the single shims that are named for some of them. Those count as what was read of them, unless that
        is what their type is called: then they count as any other of it.
    """
    drawn = {built(one): built(one) for one in candidates}
    for one, found in (real or {}).items():
        if built(one) in drawn:
            drawn[built(one)] = Built(found.stack, one.setting)
    if not drawn:
        return NOT_SAID

    def tell(_done: int) -> None:
        if should_stop():
            raise _Stopped

    try:
        spread = spreads(
            drawn_forces(setup),
            setup.asked.goal,
            present=Built(setup.stack, setup.physics.setting),
            builds=tuple(drawn.values()),
            model_uncertainty=setup.job.model_uncertainty,
            seed=STATED_ON,
            draws=draws,
            tell=tell,
        )
    except (_Stopped, ModelError):
        return NOT_SAID
    return HowSure(dict(zip(drawn, spread, strict=True)))


class _Stopped(Exception):  # noqa: N818
    """The user does not wait for it."""
