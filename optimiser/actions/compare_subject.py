"""The damper that ``shimwright compare`` puts questions to: of a job, with its bands, or alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.actions.compare_options import is_damper
from optimiser.actions.curve_options import spans
from optimiser.batch.job_to_sheet import free_to_plan
from optimiser.errors import InputError
from optimiser.files.beside import picture_beside
from optimiser.files.damper_builder import read_damper
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.bands import Band, Stroke
from optimiser.intake.brackets import adjusters_of
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.noticed import noticed_in
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.jobs.variant import Variant
from optimiser.jobs.varied import varied
from optimiser.jobs.what_if import WhatIf, strokes_with_force
from optimiser.jobs.whole_setup import opens_all, set_up_at_work
from optimiser.model.damper_description import DamperDescription, MountedStack, with_stack
from optimiser.model.edits import changes_between
from optimiser.model.goal import Goal
from optimiser.model.objection import Objection
from optimiser.model.rules import rules_for, violations
from optimiser.model.stock import Stock
from optimiser.model.unmeasured import unmeasured_words
from optimiser.studies.each_shim import ShimTried, each_shim

STROKES: tuple[Stroke, Stroke] = ("compression", "rebound")

Notice = Callable[[DamperDescription], None]
"""Told of a damper whose file was read, so that somebody can say what is unusual about it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """The damper that questions are put to.

    Parameters
    ----------
    path : of the job or damper file.
    title : what it is, in a line.
    described : the damper.
    mounted : the stack that is meant, in its place; None where none is.
    setup : of the job; None for a damper alone.
    bands : that are looked at where there is no job.
    """

    path: Path
    title: str
    described: DamperDescription
    mounted: MountedStack | None
    setup: JobSetup | None
    bands: tuple[Band, ...]

    @property
    def goal(self) -> Goal | None:
        """The job's bands with what they allow; None for a damper alone."""
        return None if self.setup is None else self.setup.asked.goal

    @property
    def temperature(self) -> float | None:
        """Of the job's oil; None for the damper's own. [K]"""
        return None if self.setup is None else self.setup.job.work.temperature

    @property
    def stock(self) -> Stock | None:
        """What is free on the job's shelf; None for a damper alone."""
        return None if self.setup is None else self.setup.stock

    def page(self, *, each: bool) -> Path:
        """Where the page goes unless somebody says otherwise."""
        name = "" if self.mounted is None else self.mounted.name
        return picture_beside(self.path, name, "each shim" if each else "compared").with_suffix(".html")

    def faults(self, case: WhatIf) -> tuple[str, ...]:
        """The rules of building that a stack breaks in this damper's place."""
        if self.mounted is None or case.stack is None or case.damper.name != self.described.damper.name:
            return ()
        rules = rules_for(self.mounted.stack, self.mounted.mounting)
        return tuple(violations(rules, case.stack, self.mounted.mounting))

    def minds(self, case: WhatIf) -> tuple[str, ...]:
        """What else to know of a case.

        Of the damper as it stands, what its figures rest on; of a stack in a job, what speaks against it:
        shims that the shelf lacks, oil that boils, stress.
        """
        if case == self.first:
            return self._noticed
        if self.setup is None or self.mounted is None or case.stack is None:
            return ()
        if case.damper.name != self.described.damper.name:
            return ()
        coming = Counter(one.put_in for one in changes_between(self.mounted.stack, case.stack) if one.put_in)
        leaving = Counter(one.out for one in changes_between(self.mounted.stack, case.stack) if one.out)
        lacking = [
            f"{key} ({count - leaving[key]} needed, {self.setup.stock.count(key)} there)"
            for key, count in sorted(coming.items(), reverse=True)
            if count - leaving[key] > self.setup.stock.count(key)
        ]
        words = [f"Not on the shelf: {', '.join(lacking)}."] if lacking else []
        against = self._objection(self.setup, case, case.stack)
        return (*words, *([] if against is None else [f"{against.value.capitalize()}."]))

    @property
    def _noticed(self) -> tuple[str, ...]:
        """What the job notices about itself, or what nobody measured of the damper."""
        if self.setup is not None:
            found = noticed_in(self.setup.job)
            return tuple(f"{one.what[0].upper()}{one.what[1:]}: {one.got}. {one.do_this}" for one in found)
        taken = self.described.not_measured
        return (f"Not measured, but usual: {unmeasured_words(taken)}.",) if taken else ()

    def _objection(self, setup: JobSetup, case: WhatIf, stack: Stack) -> Objection | None:
        """What a plan would leave the stack out for; None as well with other oil or warmth than the job's."""
        own = case.damper.oil == self.described.damper.oil and case.temperature == self.temperature
        stands = {one.name: one.at for one in adjusters_of(case.damper)} | dict(case.clicks)
        settings = setup.physics.settings
        at = {name: stands[name] for name in settings[0]}
        return setup.physics.objection(stack, settings.index(at)) if own and at in settings else None

    def each_shim(self, goal: Goal) -> tuple[ShimTried, ...]:
        """What each shim of the stack does."""
        if self.mounted is None:
            return ()
        name, first = self.mounted.name, self.first

        def forces(stack: Stack) -> np.typing.NDArray[np.float64]:
            try:
                tried = replace(first, damper=with_stack(first.damper, name, stack))
                return tried.curve(goal.velocities).force_against_motion
            except ModelError:
                return np.full(goal.velocities.size, np.nan)

        def against(stack: Stack) -> Objection | None:
            if self.setup is None:
                return None
            return self.setup.physics.objection(stack, self.setup.physics.setting)

        return each_shim(
            self.mounted.stack,
            mounting=self.mounted.mounting,
            goal=goal,
            forces=forces,
            against=against,
        )

    @property
    def first(self) -> WhatIf:
        """The damper as it stands."""
        return WhatIf(
            label="as it is",
            damper=self.described.damper,
            stack_name=None if self.mounted is None else self.mounted.name,
            mounting=None if self.mounted is None else self.mounted.mounting,
            temperature=self.temperature,
        )


def subject_of(
    path: Path,
    *,
    stack: str | None,
    as_found: bool,
    bands: Sequence[str],
    stack_needed: bool,
    notice: Notice,
) -> Subject:
    """The job or the damper that a path names.

    Parameters
    ----------
    path : of its file.
    stack : the stack that is meant, by name; None for the job's own, or for the only one.
    as_found : take the damper as its file says, whatever the ledger knows.
    bands : of the user's own, as typed.
    stack_needed : whether something is asked that is about one stack.
    notice : told of a damper alone; what a job notices is in what it answers.

    Raises
    ------
    InputError
        When the file cannot be used, or it is open which stack is meant.
    """
    if is_damper(path):
        return _damper(path, stack, bands, stack_needed=stack_needed, notice=notice)
    if bands:
        raise InputError(
            "--band: got it beside a job, expected a damper: a job has its own bands. Leave it out."
        )
    job, record = free_to_plan(path, as_found=as_found)
    if stack is not None:
        job = varied(job, Variant(stack=stack))
    if opens_all(job) and not stack_needed:
        setup = set_up_at_work(job, gate=basics_of(job), record=record)
    else:
        setup = set_up(job, record=record)
    return Subject(
        path=path,
        title=f"{job.title} ({job.damper.name}, {setup.mounted.name})",
        described=job.damper,
        mounted=setup.mounted,
        setup=setup,
        bands=(),
    )


def _damper(
    path: Path, stack: str | None, bands: Sequence[str], *, stack_needed: bool, notice: Notice
) -> Subject:
    described = read_damper(path)
    notice(described)
    described.refuse_what_cannot_be_built()
    mounted = None
    if stack is not None or stack_needed or len(described.stacks) == 1:
        mounted = described.stack_named(stack, where="--stack")
    own = spans(bands, option="--band")
    asked = (
        tuple(Band(name, stroke, low, high, 1.0) for stroke in STROKES for name, low, high in own)
        if own
        else tuple(
            Band(f"{band.name} speed", stroke, band.low, band.high, 1.0)
            for stroke in STROKES
            for band in read_vocabulary().bands.values()
        )
    )
    first = WhatIf(label=described.name, damper=described.damper)
    return Subject(
        path=path,
        title=described.name if mounted is None else f"{described.name}, {mounted.name}",
        described=described,
        mounted=mounted,
        setup=None,
        bands=strokes_with_force(first, asked),
    )
