"""What ``shimwright compare`` lays over one another: read, put together, each with a name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from damping_model.damper.damper import Damper
from damping_model.errors import ModelError
from damping_model.flow.oil import Oil
from damping_model.stack.stack import Stack
from damping_model.units import celsius, kelvin
from optimiser.batch.job_to_sheet import free_to_plan
from optimiser.cli.compare_options import is_damper, labelled, stack_name, typed_stack
from optimiser.cli.curve_options import positions, spans, temperatures
from optimiser.cli.oddities import say_oddities
from optimiser.documents.plan_reader import read_plan
from optimiser.errors import InputError
from optimiser.files.base import read_text
from optimiser.files.damper_builder import read_damper
from optimiser.files.oil_text import oil_from_text
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.bands import Band, Stroke
from optimiser.intake.brackets import adjusters_of
from optimiser.intake.prediction import bands_of_both_strokes
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.jobs.variant import Variant
from optimiser.jobs.varied import varied
from optimiser.jobs.what_if import WhatIf, settings_of, strokes_with_force
from optimiser.model.damper_description import DamperDescription, MountedStack, with_stack
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.model.rules import rules_for, violations
from optimiser.model.stock import ShimKey, Stock
from optimiser.studies.each_shim import ShimTried, each_shim

STROKES: tuple[Stroke, Stroke] = ("compression", "rebound")


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
        name = "" if self.mounted is None else "_" + self.mounted.name.replace(" ", "_")
        kind = "each_shim" if each else "compared"
        return self.path.with_name(f"{self.path.stem}{name}_{kind}.html")

    def faults(self, case: WhatIf) -> tuple[str, ...]:
        """The rules of building that a stack breaks in this damper's place."""
        if self.mounted is None or case.stack is None or case.damper.name != self.described.damper.name:
            return ()
        rules = rules_for(self.mounted.stack, self.mounted.mounting)
        return tuple(violations(rules, case.stack, self.mounted.mounting))

    def each_shim(self, goal: Goal) -> tuple[ShimTried, ...]:
        """What each shim of the stack does."""
        if self.mounted is None:
            return ()
        name, first = self.mounted.name, self.first

        def forces(stack: Stack) -> np.typing.NDArray[np.float64]:
            try:
                tried = replace(first, damper=with_stack(first.damper, name, stack))
                return tried.curve(goal.velocities).resisting_force
            except ModelError:
                return np.full(goal.velocities.size, np.nan)

        return each_shim(self.mounted.stack, mounting=self.mounted.mounting, goal=goal, forces=forces)

    @property
    def first(self) -> WhatIf:
        """The damper as it stands."""
        return WhatIf(
            label="as it is",
            damper=self.described.damper,
            stack_name=None if self.mounted is None else self.mounted.name,
            temperature=self.temperature,
        )


def subject_of(
    path: Path, *, stack: str | None, as_found: bool, bands: Sequence[str], stack_needed: bool
) -> Subject:
    """The job or the damper that a path names.

    Parameters
    ----------
    path : of its file.
    stack : the stack that is meant, by name; None for the job's own, or for the only one.
    as_found : take the damper as its file says, whatever the ledger knows.
    bands : of the user's own, as typed.
    stack_needed : whether something is asked that is about one stack.

    Raises
    ------
    InputError
        When the file cannot be used, or it is open which stack is meant.
    """
    if is_damper(path):
        return _damper(path, stack, bands, stack_needed=stack_needed)
    if bands:
        raise InputError(
            "--band: got it beside a job, expected a damper: a job has its own bands. Leave it out."
        )
    job, record = free_to_plan(path, as_found=as_found)
    if stack is not None:
        job = varied(job, Variant(stack=stack))
    say_oddities(job.damper)
    setup = set_up(job, record=record)
    return Subject(
        path=path,
        title=f"{job.title} ({job.damper.name}, {setup.mounted.name})",
        described=job.damper,
        mounted=setup.mounted,
        setup=setup,
        bands=(),
    )


def _damper(path: Path, stack: str | None, bands: Sequence[str], *, stack_needed: bool) -> Subject:
    described = read_damper(path)
    say_oddities(described)
    described.refuse_what_cannot_be_built()
    mounted = None
    if stack is not None or stack_needed or len(described.stacks) == 1:
        mounted = described.stack_named(stack, where="--stack")
    own = spans(bands, option="--band")
    asked = (
        tuple(Band(name, stroke, low, high, 1.0) for stroke in STROKES for name, low, high in own)
        if own
        else bands_of_both_strokes(tuple(read_vocabulary().bands.values()))
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


def cases_of(
    subject: Subject,
    others: Sequence[Path],
    *,
    tries: Sequence[str],
    texts: Sequence[Path],
    plan: Path | None,
    picks: Sequence[int],
    settings: Sequence[str],
    warmths: str | None,
    oils: Sequence[str],
) -> list[WhatIf]:
    """Every stack and damper at every clicks, oil and temperature; the first is the damper as it stands.

    Parameters
    ----------
    subject : the damper that questions are put to.
    others : files of more dampers.
    tries, texts : stacks in its place, typed, and files that hold them.
    plan, picks : a plan's document, and which of its candidates; all when none is named.
    settings, warmths, oils : as typed.

    Raises
    ------
    InputError
        For whatever cannot be read, naming its place.
    """
    dampers = [subject.first, *_stacks(subject, tries, texts), *_candidates(subject, plan, picks)]
    dampers += _others(subject, others)
    known: dict[str, int] = {}
    for one in dampers:
        for adjuster in adjusters_of(one.damper):
            known[adjuster.name] = max(adjuster.most, known.get(adjuster.name, 0))
    clicks = positions(settings, known, option="--clicks")
    warm = [None, *(kelvin(celsius=one) for one in temperatures(warmths, option="--celsius"))]
    filled = [None, *(_oil(text, subject.described.damper) for text in oils)]
    return [
        _case(one, setting, oil, temperature)
        for one in dampers
        for setting in settings_of(one.damper, clicks)
        for oil in filled
        for temperature in warm
    ]


def _case(one: WhatIf, setting: Mapping[str, int], oil: Oil | None, temperature: float | None) -> WhatIf:
    """A damper at a setting, with oil and at a temperature, called by what is not as it stands."""
    words = [f"{name} {at} out" for name, at in setting.items()]
    words += [] if oil is None else [oil.name]
    words += [] if temperature is None else [f"{celsius(kelvin=temperature):g} °C"]
    plain = one.label == "as it is" and words
    return replace(
        one,
        label=", ".join(words if plain else [one.label, *words]),
        damper=one.damper if oil is None else replace(one.damper, oil=oil),
        clicks={**one.clicks, **setting},
        temperature=one.temperature if temperature is None else temperature,
    )


def _stacks(subject: Subject, tries: Sequence[str], texts: Sequence[Path]) -> Iterator[WhatIf]:
    """Stacks that were typed, and those that files hold."""
    if subject.mounted is None:
        return
    typed = [
        (*labelled(text), f"--try {number}" if len(tries) > 1 else "--try")
        for number, text in enumerate(tries, 1)
    ]
    typed += [(path.stem, read_text(path, what="stack"), str(path)) for path in texts]
    old = keys_of(subject.mounted.stack)
    for number, (label, text, where) in enumerate(typed, 1):
        stack = typed_stack(text, subject.mounted, where=where)
        name = stack_name(label, old, keys_of(stack), number=number)
        yield replace(
            subject.first, label=name, damper=with_stack(subject.first.damper, subject.mounted.name, stack)
        )


def _candidates(subject: Subject, plan: Path | None, picks: Sequence[int]) -> Iterator[WhatIf]:
    """Candidates of a plan, each with the clicks that go with it."""
    if plan is None or subject.mounted is None:
        return
    document = read_plan(read_text(plan, what="plan"), name=str(plan))
    got = (document.damper, document.stack_name)
    if got != (subject.described.name, subject.mounted.name):
        raise InputError(
            f"{plan}: got a plan for {got[1]} of {got[0]}, expected one for {subject.mounted.name} of "
            f"{subject.described.name}. Plan this job again with --json."
        )
    found = document.candidates or ([document.nearest] if document.nearest else [])
    for pick in picks:
        if pick > len(found):
            raise InputError(
                f"--pick: got {pick}, expected 1 to {len(found)}: so many candidates has {plan}."
            )
    for candidate in found:
        if picks and candidate.rank not in picks:
            continue
        stack = stack_of(
            [
                ShimKey.from_millimetres(
                    outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
                )
                for shim in candidate.stack
            ]
        )
        stands = {one.name: one.at for one in adjusters_of(subject.described.damper)}
        moved = {name: at for name, at in candidate.adjusters.items() if stands.get(name) != at}
        words = [f"candidate {candidate.rank}", *(f"{name} {at} out" for name, at in moved.items())]
        yield replace(
            subject.first,
            label=", ".join(words),
            damper=with_stack(subject.first.damper, subject.mounted.name, stack),
            clicks=moved,
        )


def _others(subject: Subject, others: Sequence[Path]) -> Iterator[WhatIf]:
    """Other dampers as they stand, with the stack of the same name where they have it."""
    name = None if subject.mounted is None else subject.mounted.name
    for path in others:
        described = read_damper(path)
        say_oddities(described)
        described.refuse_what_cannot_be_built()
        alike = name if name in {mounted.name for mounted in described.stacks} else None
        yield WhatIf(label=described.name, damper=described.damper, stack_name=alike)


def _oil(text: str, damper: Damper) -> Oil:
    """The oil of a damper file, or one that is typed."""
    if text.endswith(".toml"):
        return read_damper(Path(text)).damper.oil
    return oil_from_text(text, density_15=damper.oil.density_15, where="--oil")
