"""A damper with the fit that lies beside its file: what a plan uses of it, and what is known after it."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from damping_model.damper.damper import Damper
from damping_model.errors import ModelError
from damping_model.units import MICROMETRE
from optimiser.errors import InputError
from optimiser.files.damper_file import DamperFile
from optimiser.files.fit_file import (
    FitFile,
    FittedFigure,
    covariance_of,
    figures_of,
    place_beside,
    read_fit,
    sha256_of,
    shims_of,
    stacks_on_the_dyno,
)
from optimiser.model.damper_description import DamperDescription
from optimiser.model.fitted import Fitted
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Key, Knowledge, key_of
from optimiser.unknowns.moved_words import moved_by
from optimiser.unknowns.real_thicknesses import same_steel, stacks_in, with_real_thicknesses
from optimiser.unknowns.unknown import Owner, Unknown
from optimiser.unknowns.varied import OF_SHIMS, varied

MOST_NAMED: Final = 4
"""Figures that a sentence names."""

MOVED: Final = 0.25
"""Figures that moved by less than this of their deviation are not named. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownDamper:
    """A damper as plans use it.

    Parameters
    ----------
    description : of the damper; with a fit beside its file, its figures are those of the fit.
    knowledge : of its unknown figures after the runs, about that description; None without a fit in use.
    """

    description: DamperDescription
    knowledge: Knowledge | None = None


def with_fit(typed: DamperDescription, file: DamperFile, path: Path) -> KnownDamper:
    """A damper with its fit, where there is one.

    Parameters
    ----------
    typed : the damper as its file describes it.
    file : the same file, as it was read.
    path : where it lies.

    Raises
    ------
    InputError
        When the fit beside it cannot be read.
    """
    place = place_beside(path)
    if not place.is_file():
        return KnownDamper(description=typed)
    fit = read_fit(place)
    changed = tuple(_changed_runs(fit, place))
    note = Fitted(
        place=str(place),
        day=fit.fitted_on,
        runs=sum(one.runs for one in fit.run_file),
        moved=(),
        against=fit.against,
        runs_changed=changed,
        run_files=tuple(
            str(place.parent / one.file)
            for one in fit.run_file
            if fit.shims == shims_of(file) and one.file not in changed and (place.parent / one.file).is_file()
        ),
    )
    if fit.damper_figures != figures_of(file):
        why = f"figures of {path.name} have changed since"
        return KnownDamper(description=replace(typed, fitted=replace(note, stale=why)))
    unknowns = {key_of(unknown): unknown for unknown in damper_unknowns(typed)}
    if missing := [figure.figure for figure in fit.figure if _key(figure) not in unknowns]:
        why = f"it knows {missing[0]!r}, of which this damper has none"
        return KnownDamper(description=replace(typed, fitted=replace(note, stale=why)))
    own = tuple(unknowns[_key(figure)] for figure in fit.figure)
    plan = {unknown: figure.for_plans for unknown, figure in zip(own, fit.figure, strict=True)}
    try:
        told = _still_told(typed, fit, file)
        damper = _plans_damper(typed.damper, plan, told)
        knowledge = _knowledge(own, fit, told)
    except ModelError as error:
        raise InputError(f"{place}: no such damper can be: {error} Make the fit again.") from None
    except InputError as error:
        raise InputError(f"{place}: {error} Make the fit again: it is not written by hand.") from None
    note = replace(note, moved=tuple(_moved(own, fit)))
    return KnownDamper(description=replace(typed.with_damper(damper), fitted=note), knowledge=knowledge)


def _key(figure: FittedFigure) -> Key:
    return (figure.part if figure.of == "path" else Owner(figure.of)), figure.figure


def _still_told(typed: DamperDescription, fit: FitFile, file: DamperFile) -> frozenset[str]:
    """Thicknesses of which all shims in the damper were in it on the dyno."""
    before, own = stacks_on_the_dyno(fit, file), stacks_in(typed.damper)
    if fit.shims == shims_of(file):
        return same_steel(own, own)
    return frozenset() if before is None else same_steel(before, own)


def _plans_damper(typed: Damper, plan: Mapping[Unknown, float], told: Container[str]) -> Damper:
    """The damper with a fit's figures; its shims keep the shelf's names, and count as thick as was told."""
    damper = varied(typed, {one: draw for one, draw in plan.items() if one.owner not in OF_SHIMS}).damper
    pairs = (
        (thickness, one.moved(thickness, draw))
        for one, draw in plan.items()
        if one.owner is Owner.SHIMS_INSIDE and one.figure in told and draw != 0
        for thickness in (int(one.figure) * MICROMETRE,)
    )
    return with_real_thicknesses(damper, tuple(sorted(pairs)))


def _knowledge(own: tuple[Unknown, ...], fit: FitFile, told: Container[str]) -> Knowledge:
    """What is known about the plan's damper; of shims about nominal ones, while those of the dyno are in."""
    about = [
        0.0 if unknown.owner in OF_SHIMS else figure.for_plans
        for unknown, figure in zip(own, fit.figure, strict=True)
    ]
    known = Knowledge(
        unknowns=own,
        mean=np.array([figure.draw for figure in fit.figure]) - np.array(about),
        covariance=covariance_of(fit),
    )
    return known.forgetting(Owner.SHIMS_INSIDE, but=told)


def _moved(own: tuple[Unknown, ...], fit: FitFile) -> Iterator[str]:
    """The figures that a plan's damper has otherwise than its file, the farthest first."""
    order = sorted(zip(own, fit.figure, strict=True), key=lambda both: -abs(both[1].for_plans))
    for unknown, figure in order[:MOST_NAMED]:
        if abs(figure.for_plans) > MOVED:
            yield f"{unknown.words} {moved_by(unknown, figure.for_plans)}"


def _changed_runs(fit: FitFile, place: Path) -> Iterator[str]:
    """Files of runs that are there and no longer what was fitted to."""
    for one in fit.run_file:
        path = place.parent / one.file
        try:
            if path.is_file() and sha256_of(path) != one.sha256:
                yield one.file
        except InputError:
            yield one.file
