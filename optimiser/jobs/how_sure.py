"""How sure a plan is: every candidate and every step of effort in thousands of dampers built like this."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from damping_model.errors import ModelError
from optimiser.allocation.real_shims import RealShims
from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Candidate
from optimiser.model.other_parts import PartChange, PartKind
from optimiser.spread.directions import Directions
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.drawn_swap import DrawnSwap
from optimiser.spread.spread import DRAWS, Spread, spreads
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Key, Knowledge
from optimiser.unknowns.unknown import Owner

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
    others = tuple((one.name, one.stack) for one in candidate.others)
    return Built(candidate.stack, candidate.setting, others)


def present_of(setup: JobSetup, *, before: bool = False) -> Built:
    """What is there now; ``before`` where other parts come in."""
    return Built(setup.stack, setup.physics.setting, before=before)


def known_of(setup: JobSetup, *, across: bool = False) -> Knowledge:
    """What is known of the figures of a job's damper, and of the shims that may come into it.

    After a fit to dyno runs that is in use, what those tell. A shim that was measured counts as what it
    measured.

    Parameters
    ----------
    setup : of the job.
    across : whether shims may go from one stack of the damper into another; there they count as unknown as
        any from the shelf.
    """
    stock = setup.stock
    comes = {key.shim.thickness for key in stock.counts if key not in stock.nominal}
    if across:
        comes |= {shim.thickness for one in setup.job.damper.stacks for shim in one.stack.shims}
    unknowns = damper_unknowns(setup.job.damper, comes=comes)
    return Knowledge.of(unknowns, learnt=setup.job.knowledge)


def drawn_forces(setup: JobSetup, *, across: bool = False) -> DrawnForces:
    """The damper of a job, ready to be drawn again and again.

    Parameters
    ----------
    setup : of the job.
    across : whether shims may go from one stack of the damper into another.

    Raises
    ------
    ModelError
        When it cannot be computed with every figure where it most likely is.
    """
    return _drawn(setup, Directions.of(known_of(setup, across=across)))


def drawn_swap(before: JobSetup, setup: JobSetup, *, across: bool = False) -> DrawnSwap:
    """The damper of a job before and after parts besides shims are swapped.

    Parameters
    ----------
    before : with the damper as it is.
    setup : the same with other parts.
    across : whether shims may go from one stack of the damper into another.

    Raises
    ------
    ModelError
        When either cannot be computed with every figure where it most likely is.
    """
    assert setup.job.parts is not None  # noqa: S101 - so it is only asked where parts are swapped
    plain = replace(setup, job=replace(setup.job, knowledge=None))
    known = known_of(plain, across=across)
    swapped = {key for one in setup.job.parts.changes for key in _figures_of(one)}
    old = drawn_forces(before, across=across)
    return DrawnSwap(old, lambda directions: _drawn(setup, directions), known, swapped=swapped)


def _figures_of(one: PartChange) -> Iterable[Key]:
    """The unknown figures of a part."""
    if one.kind is PartKind.OIL:
        return [(Owner.OIL, "viscosity")]
    if one.kind is PartKind.GAS:
        return [(Owner.DAMPER, "gas_pressure")]
    if one.kind is PartKind.BLEED:
        return [(one.name, "diameter")]
    return []  # another thickness is another figure by itself


def _drawn(setup: JobSetup, directions: Directions) -> DrawnForces:
    return DrawnForces(
        setup.job.damper.damper,
        stack_name=setup.mounted.name,
        velocities=setup.asked.goal.velocities,
        settings=setup.physics.settings,
        directions=directions,
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
    across: bool = False,
    before: JobSetup | None = None,
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
    across : whether shims may go from one stack of the damper into another.
    before : with the damper as it is now, where ``setup`` has other parts in it.
    """
    drawn = {built(one): built(one) for one in candidates}
    for one, found in (real or {}).items():
        if built(one) in drawn:
            drawn[built(one)] = replace(built(one), stack=found.stack)
    if not drawn:
        return NOT_SAID

    def tell(_done: int) -> None:
        if should_stop():
            raise _Stopped

    try:
        spread = spreads(
            drawn_forces(setup, across=across)
            if before is None
            else drawn_swap(before, setup, across=across),
            setup.asked.goal,
            present=present_of(setup if before is None else before, before=before is not None),
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
